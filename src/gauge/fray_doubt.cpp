// SPDX-License-Identifier: Apache-2.0
#include "gauge/fray_doubt.h"

#include <algorithm>
#include <cmath>

namespace frayhold::gauge {

double standing_height_mm(double item_radius_mm, double reach_mm) {
    const double range = item_radius_mm + reach_mm;
    return std::hypot(range / std::sqrt(12.0), (reach_mm - item_radius_mm) / 2);
}

double unseen_falloffs(double finest_mm) {
    constexpr double thinnest_mm = 0.02, most = 0.9;
    return -std::log(1 -
                     std::clamp((finest_mm - thinnest_mm) / (thickest_fibre_mm - thinnest_mm), 0.0, most));
}

}  // namespace frayhold::gauge
