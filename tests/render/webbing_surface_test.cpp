// SPDX-License-Identifier: Apache-2.0
#include "render/webbing_surface.h"

#include <catch2/catch.hpp>
#include <cmath>

namespace frayhold::render {

TEST_CASE("Beside a narrow deep cut a line of sight meets the webbing's top, and within it never") {
    Webbing web;
    web.line = CentreLine({0, 0}, 0.0, {{100, 0.0}});
    web.nick = Nick{50.0, 2.0, 11.0, 1, 0.8};
    const WebbingSurface surface(web, shared_noise());
    const Vec3 down{0.05, -0.1, -1.0};
    int beside = 0, within = 0;
    for (double s = 46; s <= 54; s += 0.05)
        for (double q = 0.5; q < 11; q += 0.25) {
            const Vec3 at_top{s, q, web.thickness_mm};
            const double from_cut = web.width_mm / 2 - nick_depth_at(*web.nick, s) - q;
            Hit hit;
            const double depth = 300;
            const bool met = trace(surface, at_top - depth * down, down, 0.9 * depth, depth + 10, hit);
            CAPTURE(s, q);
            // Clear of the rounded edge, and of the cut's far side, which the line may meet.
            if (from_cut > web.thickness_mm) {
                ++beside;
                REQUIRE(met);
                CHECK(hit.point.z == Approx(web.thickness_mm).margin(0.01));
            } else if (from_cut < -0.5) {
                ++within;
                CHECK((!met || hit.point.z < web.thickness_mm - 0.02));
            }
        }
    CHECK(beside > 1000);
    CHECK(within > 100);
}

}  // namespace frayhold::render
