// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace frayhold::pack {

// What a pack prints of a photo's measured report besides its readings. Empty where the report does not say.
struct PhotoReport {
    std::string camera;
    std::optional<double> sharpness;         // 1 / (10-90 % edge width in px)
    std::optional<double> clipped_fraction;  // of pixels at white among card and item
    std::string card_kind;                   // "printed", "id1", "rule", "corners"
    std::optional<double> tilt_deg;
    std::optional<double> distance_mm;
    std::string card_note;
    std::vector<std::string> remarks;
    // The width along the item, as far as all three lists are of one length.
    std::vector<double> station_mm;
    std::vector<double> width_mm;
    std::vector<double> fray_mm;
    double baseline_mm = 0.0;
};

// From the JSON kept with the photo. What is missing or of another form is left empty: a pack of an old case
// must still print.
[[nodiscard]] PhotoReport read_photo_report(const std::string& json);

}  // namespace frayhold::pack
