// SPDX-License-Identifier: Apache-2.0
#include "gauge/changed_edge.h"

#include <catch2/catch.hpp>
#include <random>
#include <vector>

namespace frayhold::gauge {
namespace {

constexpr std::size_t stations = 400;  // 1 mm apart
constexpr double half_width_mm = 12.0;

// A straight strip of 0.25 mm columns, edges at +-12 mm, and a share of fibre that is noise alone.
struct Bench {
    Strip strip;
    SoundEdges sound{std::vector<double>(stations, -half_width_mm),
                     std::vector<double>(stations, half_width_mm)};
    FibreCover cover;

    explicit Bench(unsigned seed) {
        strip.mm_per_px = 0.25;
        strip.middle = 120;
        strip.bgr = cv::Mat::zeros(1, 241, CV_8UC3);
        cover.share = cv::Mat::zeros(static_cast<int>(stations), 241, CV_32F);
        std::mt19937 random(seed);
        std::normal_distribution<float> noise(0.0F, 0.05F);
        for (int r = 0; r < cover.share.rows; ++r)
            for (int c = 0; c < cover.share.cols; ++c) cover.share.at<float>(r, c) = noise(random);
    }
    // Adds to the share between two distances from the strip's middle, from one station to another.
    void veil(double from_mm, double to_mm, int from, int to, float share) {
        for (int r = from; r < to; ++r)
            for (int c = 0; c < cover.share.cols; ++c)
                if (const double at = strip.across_mm(c); at >= from_mm && at <= to_mm)
                    cover.share.at<float>(r, c) += share;
    }
    [[nodiscard]] std::optional<ChangedEdge> changed(
        double side, const std::vector<char>& left_out = std::vector<char>(stations, 0)) const {
        return changed_edge(strip, cover, sound, side, 1.0, left_out);
    }
};

}  // namespace

TEST_CASE("a veil over an edge and beside it is found with both its ends, on its own side only") {
    Bench bench(1);
    bench.veil(half_width_mm - 2, half_width_mm + 3, 150, 200, 0.12F);
    const auto changed = bench.changed(1.0);
    REQUIRE(changed);
    CHECK(std::abs(static_cast<double>(changed->from) - 150) <= 4);
    CHECK(std::abs(static_cast<double>(changed->to) - 200) <= 4);
    CHECK(changed->inside > 5);
    CHECK_FALSE(bench.changed(-1.0));
}

TEST_CASE("a mark of the bench beside an edge leaves the item within as it is") {
    Bench bench(5);
    bench.veil(half_width_mm + 0.2, half_width_mm + 3, 150, 200, 0.12F);
    const auto changed = bench.changed(1.0);
    REQUIRE(changed);
    CHECK(std::abs(changed->inside) < 2);
}

TEST_CASE("what lies far out on the bench or across both edges is no veil of fibres") {
    Bench glare(2);
    glare.veil(half_width_mm - 2, half_width_mm + 16, 150, 200, 0.12F);
    CHECK_FALSE(glare.changed(1.0));
    Bench shadow(3);
    shadow.veil(-half_width_mm - 3, half_width_mm + 3, 150, 200, 0.12F);
    CHECK_FALSE(shadow.changed(1.0));
    CHECK_FALSE(shadow.changed(-1.0));
}

TEST_CASE("stations known to be damaged otherwise are left out") {
    Bench bench(4);
    bench.veil(half_width_mm - 2, half_width_mm + 3, 150, 200, 0.12F);
    std::vector<char> nicked(stations, 0);
    nicked[175] = 1;
    CHECK_FALSE(bench.changed(1.0, nicked));
}

TEST_CASE("bare bench shows no veil") {
    for (unsigned seed = 10; seed < 40; ++seed) {
        const Bench bench(seed);
        INFO(seed);
        CHECK_FALSE(bench.changed(-1.0));
        CHECK_FALSE(bench.changed(1.0));
    }
}

}  // namespace frayhold::gauge
