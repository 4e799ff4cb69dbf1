// SPDX-License-Identifier: Apache-2.0
#include "render/fray_profile.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "render/random.h"

namespace frayhold::render {
namespace {

const CentreLine along_x({0.0, 0.0}, 0.0, {{40.0, 0.0}});
const std::vector<double> ten_mm_wide(40, 5.0);

Hair straight(Vec2 from, Vec2 to, double thickness) {
    const Vec2 middle = 0.5 * (from + to);
    return {{from.x, from.y, 3.0}, {middle.x, middle.y, 3.0}, {to.x, to.y, 3.0}, thickness, 1.F};
}

// Bent fibres as chains of short straight pieces, each with the box that holds it.
struct Chain {
    std::vector<Vec2> points;
    Vec2 low{1e9, 1e9}, high{-1e9, -1e9};
};

Chain chain_of(const Hair& hair) {
    Chain chain;
    for (int i = 0; i <= 30; ++i) {
        const Vec2 p = plan(along_hair(hair, i / 30.0));
        chain.points.push_back(p);
        chain.low = {std::min(chain.low.x, p.x - 0.1), std::min(chain.low.y, p.y - 0.1)};
        chain.high = {std::max(chain.high.x, p.x + 0.1), std::max(chain.high.y, p.y + 0.1)};
    }
    return chain;
}

bool boxed(const Chain& chain, Vec2 p) {
    return p.x > chain.low.x && p.y > chain.low.y && p.x < chain.high.x && p.y < chain.high.y;
}

double distance_to_chain(const std::vector<Vec2>& chain, Vec2 p) {
    double least = 1e9;
    for (std::size_t i = 1; i < chain.size(); ++i) {
        const Vec2 along = chain[i] - chain[i - 1];
        const double t = clamp01(dot(p - chain[i - 1], along) / dot(along, along));
        least = std::min(least, length(p - chain[i - 1] - t * along));
    }
    return least;
}

}  // namespace

TEST_CASE("One fibre to each side gives their reach") {
    const std::vector<Hair> hairs{straight({10.5, 4.9}, {10.5, 8.0}, 0.06),
                                  straight({10.2, -4.9}, {10.8, -6.5}, 0.06),
                                  straight({20.5, 4.9}, {20.5, 5.3}, 0.06)};
    const FrayProfile profile = fray_profile(along_x, ten_mm_wide, hairs);
    CHECK(profile.outer_mm[10] == Approx(8.03 + 6.53).margin(1e-6));
    CHECK(profile.dense_mm[10] == Approx(10.0).margin(0.1));  // the cell across the edge is half the item
    CHECK(profile.outer_mm[11] == Approx(10.0).margin(1e-6));
    CHECK(std::count(profile.halo.begin(), profile.halo.end(), true) == 1);  // 0.33 mm is no halo
    CHECK(profile.area_mm2 == Approx(3.03 + 1.53 + 0.33).margin(1e-6));
}

TEST_CASE("A comb of fibres is dense as far as it covers more than half") {
    std::vector<Hair> hairs;
    for (int i = 0; i < 10; ++i) {
        // Ten of 0.06 mm to 7 mm from the axis, five of them on to 9 mm: 60 %, then 30 % covered.
        const double s = 12.05 + 0.1 * i;
        hairs.push_back(straight({s, 4.9}, {s, i % 2 == 0 ? 7.0 : 9.0}, 0.06));
    }
    const FrayProfile profile = fray_profile(along_x, ten_mm_wide, hairs);
    CHECK(profile.outer_mm[12] == Approx(5.0 + 9.03).margin(1e-6));
    CHECK(profile.dense_mm[12] == Approx(5.0 + 7.0).margin(0.15));
}

TEST_CASE("Profile agrees with a brute-force raster of bent fibres") {
    Random random(77);
    std::vector<Hair> hairs;
    for (int i = 0; i < 260; ++i) {
        const double s = random.uniform(14.5, 18.5);
        const double side = random.chance(0.5) ? 1.0 : -1.0;
        const double reach = 1.5 * random.gamma2();
        const double bend = random.normal();
        const double lean = random.normal();
        Hair hair;
        hair.root = {s, side * 4.9, 5.0};
        hair.bend = {s + 0.3 * lean, side * (4.9 + 0.5 * reach), 5.0};
        hair.tip = {s + 0.5 * bend, side * (4.9 + reach), 4.0};
        hair.thickness_mm = random.uniform(0.03, 0.08);
        hairs.push_back(hair);
    }
    const FrayProfile profile = fray_profile(along_x, ten_mm_wide, hairs);

    std::vector<Chain> chains;
    for (const Hair& hair : hairs) chains.push_back(chain_of(hair));
    constexpr double fine = 0.02;
    for (const std::size_t station : {15U, 16U, 17U}) {
        double outer = 0.0;
        double dense = 0.0;
        for (const double side : {1.0, -1.0}) {
            std::vector<double> covered;  // share of the station by distance outward
            for (double u = fine / 2; u < 12.0; u += fine) {
                int hits = 0;
                for (double s = fine / 2; s < 1.0; s += fine) {
                    const Vec2 p{static_cast<double>(station) + s, side * (5.0 + u)};
                    for (std::size_t i = 0; i < hairs.size(); ++i)
                        if (boxed(chains[i], p) &&
                            distance_to_chain(chains[i].points, p) <= hairs[i].thickness_mm / 2) {
                            ++hits;
                            break;
                        }
                }
                covered.push_back(hits * fine);
            }
            std::size_t last = covered.size();
            while (last > 0 && covered[last - 1] == 0.0) --last;
            outer += static_cast<double>(last) * fine;
            constexpr std::size_t window = 13;  // 0.26 mm
            std::size_t edge = 0;
            for (;; ++edge) {
                double sum = 0.0;
                for (std::size_t k = 0; k < window; ++k) {
                    const auto at =
                        static_cast<std::ptrdiff_t>(edge + k) - static_cast<std::ptrdiff_t>(window / 2);
                    sum += at < 0 ? 1.0 : covered.at(static_cast<std::size_t>(at));
                }
                if (2.0 * sum <= window) break;
            }
            dense += static_cast<double>(edge) * fine;
        }
        INFO("station " << station);
        CHECK(profile.outer_mm[station] == Approx(10.0 + outer).margin(0.1));
        CHECK(profile.dense_mm[station] == Approx(10.0 + dense).margin(0.15));
    }
}

}  // namespace frayhold::render
