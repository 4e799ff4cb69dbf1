// SPDX-License-Identifier: Apache-2.0
#include "gauge/palette.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

namespace frayhold::gauge {
namespace {

std::vector<Lab> some_colours(std::mt19937& random, int count) {
    std::uniform_real_distribution<double> lightness(0, 100), hue(-60, 60);
    std::vector<Lab> colours;
    for (int i = 0; i < count; ++i) colours.push_back({lightness(random), hue(random), hue(random)});
    return colours;
}

// By its definition: every colour of the set in the order of its plain distance.
double least_of_four(const Lab& colour, std::vector<Lab> set) {
    const auto distance = [&](const Lab& other) {
        return std::hypot((other.L - colour.L) / 2, other.a - colour.a, other.b - colour.b);
    };
    std::sort(set.begin(), set.end(), [&](const Lab& a, const Lab& b) { return distance(a) < distance(b); });
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < std::min<std::size_t>(4, set.size()); ++i)
        least = std::min(least, ciede2000(colour, set[i], 2.0));
    return least;
}

}  // namespace

TEST_CASE("The difference to the nearest colours is that of a search through all of them") {
    std::mt19937 random(5);
    for (const int size : {1, 3, 40, 700}) {
        const std::vector<Lab> set = some_colours(random, size);
        std::vector<Lab> colours = some_colours(random, 60);
        colours.push_back(set.front());
        const std::vector<float> found = distances(colours, set);
        for (std::size_t i = 0; i < colours.size(); ++i) {
            CAPTURE(size, i);
            CHECK(static_cast<double>(found[i]) == Approx(least_of_four(colours[i], set)).margin(1e-5));
        }
        CHECK(found.back() == 0.0F);
    }
    CHECK(std::isinf(distances({{50, 0, 0}}, {}).front()));
}

}  // namespace frayhold::gauge
