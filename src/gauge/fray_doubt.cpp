// SPDX-License-Identifier: Apache-2.0
#include "gauge/fray_doubt.h"

#include <algorithm>
#include <cmath>

namespace frayhold::gauge {
namespace {

constexpr double share_u = 0.45;  // of the share that is made good
constexpr double length_a_falloff_mm = 5.0;

double shortfall_u(double unseen, double whole, double scatter) {
    return std::hypot(share_u * whole * unseen, scatter * std::sqrt(shortfall_made_good * unseen));
}

}  // namespace

double seen_too_long(double across_slope) {
    return std::hypot(1.0, across_slope);
}

double height_u_rel(double slope) {
    constexpr double of_the_root = 0.19;
    return of_the_root * std::sqrt(slope);
}

double unseen_falloffs(double unseen_share) {
    constexpr double most = 0.95;
    return -std::log(1 - std::clamp(unseen_share, 0.0, most));
}

double width_shortfall_u(double unseen) {
    return shortfall_u(unseen, 1.0, 0.8);
}

double length_shortfall_mm(double unseen) {
    return length_a_falloff_mm * unseen;
}

double length_shortfall_u_mm(double unseen) {
    return shortfall_u(unseen, length_a_falloff_mm, 5.0);
}

}  // namespace frayhold::gauge
