// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace frayhold::gauge {

// Everything the gauge can measure. The text of each is its name in JSON and in the criteria tables.
enum class Measurand {
    sound_width,  // mm: silhouette diameter of the undamaged rope
    fray_width,   // mm: largest distance across the item between outermost broken fibres, per 1 mm station
    fray_dense_width,  // mm: the same between edges where fibres still cover half the background
    fray_length,       // mm: along the item, the stations with a halo
    fray_area,         // mm2: the halo, both sides
    local_width,       // mm: the most different width without a halo (flattened or swollen)
    core_area,         // mm2
    core_length,       // mm along the item
    web_width,         // mm: undamaged webbing
    nick_depth,        // mm: from the edge line inward
    nick_length,       // mm: along the edge
    nick_share,        // 1: nick_depth as a share of web_width
    fluff_length,      // mm: length of fluffed edge
    stitch_rows,       // 1: rows of stitching found
    stitch_gaps,       // 1: places where a stitch is missing
    glaze_length,      // mm: marked by hand
    distance,          // mm: marked by hand
    area,              // mm2: marked by hand
};

enum class UnitOf { millimetre, square_millimetre, one };

[[nodiscard]] std::string_view name_of(Measurand measurand);
// "sound width": its words in English, for tr_word.
[[nodiscard]] std::string words_for(Measurand measurand);
[[nodiscard]] std::optional<Measurand> measurand_named(std::string_view name);
[[nodiscard]] UnitOf unit_of(Measurand measurand);
// Whether it is marked by hand, not found: distance, area, glaze_length.
[[nodiscard]] bool is_by_hand(Measurand measurand);
// "mm", "mm²" or "" for a person.
[[nodiscard]] std::string_view symbol_of(UnitOf unit);

}  // namespace frayhold::gauge
