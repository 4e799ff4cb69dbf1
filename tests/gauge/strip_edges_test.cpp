// SPDX-License-Identifier: Apache-2.0
#include "gauge/strip_edges.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <opencv2/core.hpp>

#include "gauge/drawn_stations.h"

namespace frayhold::gauge {
namespace {

constexpr double mm_per_px = 0.2, half_mm = 5.0;
constexpr int stations = 60, middle = 75;

// A fine grey braid on a smooth grey bench; to its right a shadow, which light from all round makes as blue
// as the sheath is.
StationLight grey_on_grey(double shadow_mm) {
    return drawn_stations(stations, middle, mm_per_px, cv::RNG(7), [&](double across, cv::RNG& random) {
        const bool braid = std::abs(across) < half_mm,
                   shadow = !braid && across > 0 && across < half_mm + shadow_mm;
        const double lit = braid ? 0.2 * (1 + random.gaussian(0.1)) : shadow ? 0.12 : 0.3;
        const double bluer = (braid || shadow ? 0.05 : 0.0) + random.gaussian(0.01);
        return DrawnLook{cv::Vec3d(lit * std::exp(bluer), lit, lit * std::exp(-bluer)), braid ? 0.05 : 0.02,
                         0.2};
    });
}

}  // namespace

TEST_CASE("The border of a shadow of another hue is not taken for the item's") {
    Strip strip;
    strip.mm_per_px = mm_per_px;
    strip.middle = middle;
    strip.bgr.create(1, 2 * middle + 1, CV_8UC3);
    for (const double shadow_mm : {1.0, 1.5}) {
        const auto edges = find_edges(strip, grey_on_grey(shadow_mm), half_mm);
        std::vector<double> left, right;
        for (const StationEdges& e : edges) {
            left.push_back(e.left);
            right.push_back(e.right);
        }
        CAPTURE(shadow_mm);
        CHECK(running_median(left, stations)[0] == Approx(-half_mm).margin(0.25));
        CHECK(running_median(right, stations)[0] == Approx(half_mm).margin(0.25));
    }
}

}  // namespace frayhold::gauge
