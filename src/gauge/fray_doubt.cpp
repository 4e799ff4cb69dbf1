// SPDX-License-Identifier: Apache-2.0
#include "gauge/fray_doubt.h"

#include <algorithm>
#include <cmath>

namespace frayhold::gauge {
namespace {

constexpr double share_u = 0.3;  // of the share that is made good
constexpr double length_a_falloff_mm = 3.8;

double shortfall_u(double unseen, double whole, double scatter) {
    return std::hypot(share_u * whole * unseen, scatter * std::sqrt(shortfall_made_good * unseen));
}

}  // namespace

double standing_height_mm(double item_radius_mm, double reach_mm) {
    const double range = item_radius_mm + reach_mm;
    return std::hypot(range / std::sqrt(12.0), (reach_mm - item_radius_mm) / 2);
}

double unseen_falloffs(double finest_mm) {
    constexpr double thinnest_mm = 0.02, most = 0.9;
    const double unseen =
        std::clamp((finest_mm - thinnest_mm) / (thickest_fibre_mm - thinnest_mm), 0.0, most);
    return unseen > 0 ? -std::log(1 - unseen) : 0.0;
}

double width_shortfall_u(double unseen) {
    return shortfall_u(unseen, 1.0, 0.8);
}

double length_shortfall_mm(double unseen) {
    return length_a_falloff_mm * unseen;
}

double length_shortfall_u_mm(double unseen) {
    return shortfall_u(unseen, length_a_falloff_mm, 3.0);
}

}  // namespace frayhold::gauge
