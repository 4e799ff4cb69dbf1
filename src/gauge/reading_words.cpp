// SPDX-License-Identifier: Apache-2.0
#include "gauge/reading_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace frayhold::gauge {
namespace {

// Decimal places that show `U` with two significant digits once it is rounded: 0.0996 becomes 0.10.
int places_for(double U) {
    constexpr int most = 3;
    if (!(U > 0.0) || !std::isfinite(U)) return 0;
    const int digits = static_cast<int>(std::floor(std::log10(U)));
    const double unit = std::pow(10.0, digits - 1);
    constexpr double next_digit = 100.0;
    const int carried = std::round(U / unit) >= next_digit ? 1 : 0;
    return std::clamp(1 - digits - carried, 0, most);
}

}  // namespace

std::string value_words(const Reading& reading) {
    const int places = places_for(reading.U);
    const std::string_view symbol = symbol_of(unit_of(reading.measurand));
    return fmt::format("{:.{}f} ± {:.{}f}{}{}", reading.value, places, reading.U, places,
                       symbol.empty() ? "" : " ", symbol);
}

}  // namespace frayhold::gauge
