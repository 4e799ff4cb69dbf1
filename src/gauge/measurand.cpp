// SPDX-License-Identifier: Apache-2.0
#include "gauge/measurand.h"

#include <algorithm>
#include <array>
#include <cstddef>

#include "language/later.h"

namespace frayhold::gauge {
namespace {

struct Row {
    Measurand measurand;
    std::string_view name;
    std::string_view words;
    UnitOf unit;
};

// In the order of the enumeration.
constexpr std::array rows{
    Row{Measurand::sound_width, "sound_width", tr_later("sound width"), UnitOf::millimetre},
    Row{Measurand::fray_width, "fray_width", tr_later("fray width"), UnitOf::millimetre},
    Row{Measurand::fray_dense_width, "fray_dense_width", tr_later("fray dense width"), UnitOf::millimetre},
    Row{Measurand::fray_length, "fray_length", tr_later("fray length"), UnitOf::millimetre},
    Row{Measurand::fray_area, "fray_area", tr_later("fray area"), UnitOf::square_millimetre},
    Row{Measurand::local_width, "local_width", tr_later("local width"), UnitOf::millimetre},
    Row{Measurand::core_area, "core_area", tr_later("core area"), UnitOf::square_millimetre},
    Row{Measurand::core_length, "core_length", tr_later("core length"), UnitOf::millimetre},
    Row{Measurand::web_width, "web_width", tr_later("web width"), UnitOf::millimetre},
    Row{Measurand::nick_depth, "nick_depth", tr_later("nick depth"), UnitOf::millimetre},
    Row{Measurand::nick_length, "nick_length", tr_later("nick length"), UnitOf::millimetre},
    Row{Measurand::nick_share, "nick_share", tr_later("nick share"), UnitOf::one},
    Row{Measurand::fluff_length, "fluff_length", tr_later("fluff length"), UnitOf::millimetre},
    Row{Measurand::stitch_rows, "stitch_rows", tr_later("stitch rows"), UnitOf::one},
    Row{Measurand::stitch_gaps, "stitch_gaps", tr_later("stitch gaps"), UnitOf::one},
    Row{Measurand::glaze_length, "glaze_length", tr_later("glaze length"), UnitOf::millimetre},
    Row{Measurand::distance, "distance", tr_later("distance"), UnitOf::millimetre},
    Row{Measurand::area, "area", tr_later("area"), UnitOf::square_millimetre},
};

constexpr bool in_order() {
    for (std::size_t i = 0; i < rows.size(); ++i)
        if (static_cast<std::size_t>(rows[i].measurand) != i) return false;
    return true;
}
static_assert(in_order() && rows.size() == static_cast<std::size_t>(Measurand::area) + 1);

const Row& row_of(Measurand measurand) {
    return rows.at(static_cast<std::size_t>(measurand));
}

}  // namespace

std::string words_for(Measurand measurand) {
    return std::string(row_of(measurand).words);
}

std::string_view name_of(Measurand measurand) {
    return row_of(measurand).name;
}

std::optional<Measurand> measurand_named(std::string_view name) {
    const auto* const found =
        std::find_if(rows.begin(), rows.end(), [&](const Row& row) { return row.name == name; });
    if (found == rows.end()) return std::nullopt;
    return found->measurand;
}

UnitOf unit_of(Measurand measurand) {
    return row_of(measurand).unit;
}

bool is_by_hand(Measurand measurand) {
    return measurand == Measurand::distance || measurand == Measurand::area ||
           measurand == Measurand::glaze_length;
}

std::string_view symbol_of(UnitOf unit) {
    switch (unit) {
        case UnitOf::millimetre:
            return "mm";
        case UnitOf::square_millimetre:
            return "mm²";
        case UnitOf::one:
            return "";
    }
    return "";
}

}  // namespace frayhold::gauge
