// SPDX-License-Identifier: Apache-2.0
#include "gauge/measurand.h"

#include <algorithm>
#include <array>
#include <cstddef>

namespace frayhold::gauge {
namespace {

struct Row {
    Measurand measurand;
    std::string_view name;
    UnitOf unit;
};

// In the order of the enumeration.
constexpr std::array rows{
    Row{Measurand::sound_width, "sound_width", UnitOf::millimetre},
    Row{Measurand::fray_width, "fray_width", UnitOf::millimetre},
    Row{Measurand::fray_dense_width, "fray_dense_width", UnitOf::millimetre},
    Row{Measurand::fray_length, "fray_length", UnitOf::millimetre},
    Row{Measurand::fray_area, "fray_area", UnitOf::square_millimetre},
    Row{Measurand::local_width, "local_width", UnitOf::millimetre},
    Row{Measurand::core_area, "core_area", UnitOf::square_millimetre},
    Row{Measurand::core_length, "core_length", UnitOf::millimetre},
    Row{Measurand::web_width, "web_width", UnitOf::millimetre},
    Row{Measurand::nick_depth, "nick_depth", UnitOf::millimetre},
    Row{Measurand::nick_length, "nick_length", UnitOf::millimetre},
    Row{Measurand::nick_share, "nick_share", UnitOf::one},
    Row{Measurand::fluff_length, "fluff_length", UnitOf::millimetre},
    Row{Measurand::stitch_rows, "stitch_rows", UnitOf::one},
    Row{Measurand::stitch_gaps, "stitch_gaps", UnitOf::one},
    Row{Measurand::glaze_length, "glaze_length", UnitOf::millimetre},
    Row{Measurand::distance, "distance", UnitOf::millimetre},
    Row{Measurand::area, "area", UnitOf::square_millimetre},
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
