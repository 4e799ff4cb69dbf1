// SPDX-License-Identifier: Apache-2.0
#include "gauge/halo.h"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <random>

#include "gauge/fray_doubt.h"
#include "gauge/strip.h"
#include "gauge/strip_edges.h"

namespace {

using namespace frayhold::gauge;

constexpr double mm_per_px = 0.15, radius_mm = 5.0, length_mm = 110.0, half_width_mm = 40.0, blur_px = 0.9;

struct Hair {
    double root_along_mm, tip_along_mm, side, reach_mm, thickness_mm;
};

// A straight rope on a bench, in linear light: what covers a pixel by half shows half its light.
class Bench {
  public:
    explicit Bench(unsigned seed = 1)
        : random_(seed),
          cover_(rows(), columns(), CV_32F, cv::Scalar(0)),
          bare_(rows(), columns(), CV_32F, cv::Scalar(0.25)) {}

    // A hair from the rope's edge to its tip, bent a little: as much area a length as it is thick.
    void draw(const Hair& h) {
        constexpr double step = 0.01;
        for (double t = 0; t < 1; t += step / std::hypot(h.reach_mm, h.tip_along_mm - h.root_along_mm)) {
            const double across = h.side * (radius_mm + t * h.reach_mm),
                         along = h.root_along_mm + t * t * (h.tip_along_mm - h.root_along_mm);
            const double x = across / mm_per_px + middle(), y = along / mm_per_px;
            const int c = static_cast<int>(std::floor(x)), r = static_cast<int>(std::floor(y));
            if (c < 0 || r < 0 || c + 1 >= columns() || r + 1 >= rows()) continue;
            const auto area = static_cast<float>(h.thickness_mm * step / (mm_per_px * mm_per_px));
            const auto fx = static_cast<float>(x - c), fy = static_cast<float>(y - r);
            cover_.at<float>(r, c) += area * (1 - fx) * (1 - fy);
            cover_.at<float>(r, c + 1) += area * fx * (1 - fy);
            cover_.at<float>(r + 1, c) += area * (1 - fx) * fy;
            cover_.at<float>(r + 1, c + 1) += area * fx * fy;
        }
    }
    // Fluff about the middle of the rope on both sides: hides `share` of the bench out to `reach_mm`.
    void fluff(double from_mm, double to_mm, double share, double reach_mm) {
        for (int r = static_cast<int>(from_mm / mm_per_px); r < static_cast<int>(to_mm / mm_per_px); ++r)
            for (int c = 0; c < columns(); ++c) {
                const double out = std::abs((c - middle()) * mm_per_px) - radius_mm;
                if (out > 0 && out < reach_mm)
                    cover_.at<float>(r, c) = std::max(cover_.at<float>(r, c), static_cast<float>(share));
            }
    }
    // A dark crack across the whole bench, ending at the rope.
    void crack(double along_mm, double slope) {
        for (int c = 0; c < columns(); ++c) {
            const int r = static_cast<int>((along_mm + slope * (c - middle()) * mm_per_px) / mm_per_px);
            for (int k = r; k < r + 4; ++k)
                if (k >= 0 && k < rows()) bare_.at<float>(k, c) = 0.08F;
        }
    }

    // The item's shadow on the right.
    void shade(double share) {
        for (int r = 0; r < rows(); ++r)
            for (int c = middle(); c < columns(); ++c) bare_.at<float>(r, c) *= static_cast<float>(share);
    }

    // Light added over all, fading outward.
    void glare(double along_mm, double spread_mm, double strength) {
        glare_ = {along_mm, spread_mm, strength};
    }

    Halo halo() {
        cv::Mat light(rows(), columns(), CV_32FC3);
        const cv::Vec3f fibre(0.55F, 0.60F, 0.75F), sheath(0.35F, 0.40F, 0.60F);
        for (int r = 0; r < rows(); ++r)
            for (int c = 0; c < columns(); ++c) {
                const double inside =
                    std::clamp(radius_mm / mm_per_px - std::abs(c - middle()) + 0.5, 0.0, 1.0);
                const float p = std::min(1.0F, cover_.at<float>(r, c)), bench = bare_.at<float>(r, c);
                const cv::Vec3f beside = cv::Vec3f(bench, bench, bench) * (1 - p) + fibre * p;
                light.at<cv::Vec3f>(r, c) = beside * static_cast<float>(1 - inside) +
                                            (p > 0 ? fibre : sheath) * static_cast<float>(inside);
                const double away =
                    std::hypot(r * mm_per_px - glare_[0], (c - middle()) * mm_per_px) / glare_[1];
                light.at<cv::Vec3f>(r, c) +=
                    cv::Vec3f::all(static_cast<float>(glare_[2] * std::exp(-away * away)));
            }
        cv::GaussianBlur(light, light, {9, 9}, blur_px);
        Strip strip;
        strip.mm_per_px = mm_per_px;
        strip.middle = middle();
        strip.bgr.create(light.size(), CV_8UC3);
        std::normal_distribution<float> noise(0.0F, 1.5F);
        for (int r = 0; r < rows(); ++r)
            for (int c = 0; c < columns(); ++c)
                for (int k = 0; k < 3; ++k) {
                    const float v = light.at<cv::Vec3f>(r, c)[k];
                    const float coded =
                        v <= 0.0031308F ? 12.92F * v : 1.055F * std::pow(v, 1 / 2.4F) - 0.055F;
                    strip.bgr.at<cv::Vec3b>(r, c)[k] = cv::saturate_cast<uchar>(255 * coded + noise(random_));
                }
        strip.seen = cv::Mat::ones(light.size(), CV_8U);
        const StationLight stations = station_light(strip);
        const SoundEdges sound{std::vector<double>(stations.row.size(), -radius_mm),
                               std::vector<double>(stations.row.size(), radius_mm)};
        return find_halo(strip, stations, sound, blur_px * mm_per_px);
    }

  private:
    static int rows() { return static_cast<int>(length_mm / mm_per_px); }
    static int middle() { return static_cast<int>(half_width_mm / mm_per_px); }
    static int columns() { return 2 * middle() + 1; }

    std::mt19937 random_;
    cv::Mat cover_, bare_;
    std::array<double, 3> glare_{0.0, 1.0, 0.0};  // along, spread, strength
};

double farthest(const std::vector<double>& places, double side) {
    double most = 0.0;
    for (const double t : places) most = std::max(most, side * t);
    return most;
}

TEST_CASE("a bare rope has no halo", "[halo]") {
    Bench bench;
    bench.crack(55.0, 0.3);
    const Halo halo = bench.halo();
    CHECK(farthest(halo.left, -1) == Approx(radius_mm));
    CHECK(farthest(halo.right, 1) == Approx(radius_mm));
    CHECK(farthest(halo.dense_right, 1) == Approx(radius_mm));
}

TEST_CASE("a fine single fibre is followed to its tip", "[halo]") {
    Bench bench;
    bench.fluff(50.0, 60.0, 0.6, 2.0);
    bench.draw({52.0, 45.0, 1.0, 14.0, 0.05});
    bench.draw({56.0, 60.0, -1.0, 11.0, 0.025});
    const Halo halo = bench.halo();
    CHECK(farthest(halo.right, 1) == Approx(radius_mm + 14.0).margin(0.6));
    CHECK(farthest(halo.left, -1) == Approx(radius_mm + 11.0).margin(0.6));
    CHECK(farthest(halo.strict_right, 1) <= farthest(halo.right, 1));
    CHECK(farthest(halo.loose_right, 1) >= farthest(halo.right, 1));
    CHECK(halo.finest_mm[1] > 0.0);
    CHECK(halo.finest_mm[1] < 0.04);
}

TEST_CASE("each row of the strip tells the fibre that reaches it", "[halo]") {
    Bench bench;
    bench.fluff(50.0, 60.0, 0.6, 2.0);
    bench.draw({55.0, 55.0, 1.0, 9.0, 0.06});
    const Halo halo = bench.halo();
    const auto farthest_between = [&](double from_mm, double to_mm) {
        const auto row = [&](double along_mm) {
            return halo.row_right.begin() + static_cast<std::ptrdiff_t>(along_mm / mm_per_px);
        };
        return *std::max_element(row(from_mm), row(to_mm));
    };
    CHECK(farthest_between(54.6, 55.4) == Approx(radius_mm + 9.0).margin(0.5));
    CHECK(farthest_between(53.4, 54.2) < radius_mm + 4.0);
    CHECK(farthest_between(55.8, 56.6) < radius_mm + 4.0);
    CHECK(farthest_between(20.0, 30.0) == Approx(radius_mm));
}

TEST_CASE("in the item's shadow pale fibres show the better", "[halo]") {
    Bench bench;
    bench.shade(0.4);
    bench.fluff(50.0, 60.0, 0.6, 2.0);
    for (int i = 0; i < 8; ++i) bench.draw({51.0 + i, 50.0 + i, i % 2 == 0 ? 1.0 : -1.0, 8.0, 0.06});
    const Halo halo = bench.halo();
    CHECK(halo.finest_mm[4] > 0.0);
    CHECK(halo.finest_mm[4] < 0.8 * halo.finest_mm[1]);
}

TEST_CASE("a crack in the bench that meets the fray is not followed", "[halo]") {
    Bench bench;
    bench.fluff(50.0, 60.0, 0.6, 2.0);
    bench.draw({52.0, 47.0, 1.0, 6.0, 0.06});
    bench.crack(57.0, 0.3);
    const Halo halo = bench.halo();
    CHECK(farthest(halo.right, 1) == Approx(radius_mm + 6.0).margin(0.6));
    CHECK(farthest(halo.left, -1) < radius_mm + 4.0);
}

TEST_CASE("the dense edge is where fibres hide half the bench", "[halo]") {
    Bench bench;
    bench.fluff(45.0, 65.0, 0.3, 5.0);
    bench.fluff(45.0, 65.0, 0.9, 2.0);
    const Halo halo = bench.halo();
    const std::size_t middle = 55;
    CHECK(halo.dense_right[middle] == Approx(radius_mm + 2.0).margin(0.4));
    CHECK(halo.dense_left[middle] == Approx(-radius_mm - 2.0).margin(0.4));
    CHECK(halo.right[middle] > radius_mm + 4.0);
    CHECK(halo.dense_right[20] == Approx(radius_mm));
}

TEST_CASE("what one picture cannot show of a fray", "[halo]") {
    // Never more unseen than 19 in 20.
    CHECK(unseen_falloffs(0.0) == Approx(0.0));
    CHECK(unseen_falloffs(0.5) == Approx(std::log(2.0)));
    CHECK(unseen_falloffs(1.0) == Approx(std::log(20.0)));
    // Of little unseen, chance is most of the doubt; of much, the unsharp limit counts too.
    CHECK(width_shortfall_u(0.01) == Approx(0.8 * std::sqrt(0.5 * 0.01)).epsilon(0.01));
    CHECK(width_shortfall_u(2.0) == Approx(std::hypot(0.45 * 2.0, 0.8)));
    CHECK(length_shortfall_mm(2.0) == Approx(10.0));
    CHECK(length_shortfall_u_mm(2.0) == Approx(std::hypot(0.45 * 10.0, 5.0)));
    // Half of the thicknesses; a short fibre must show the plainer, and one that catches no light never
    // shows.
    Halo halo;
    halo.finest_mm = {0.05, 0.05, 0.05, 0.05, 0.05, 0.05};
    CHECK(halo.unseen_on_bench(1000.0) == Approx(0.5).epsilon(0.01));
    CHECK(halo.unseen_on_bench(1.6) == Approx(1.0));
    halo.finest_mm = {1e6, 0.05, 0.02, 1e6, 0.05, 0.02};
    CHECK(halo.unseen_on_bench(1000.0) == Approx(0.5).epsilon(0.01));
    // On one side only, in the item's shadow.
    halo.finest_mm = {1e6, 1e6, 1e6, 0.02, 0.02, 0.02};
    CHECK(halo.unseen_on_bench(1000.0) == Approx(0.5).epsilon(0.01));
    // None followed: the bench alone tells. Forty, all far plainer than need be: few more are likely, and the
    // bench counts as twenty. Forty that just show: twice as many do not.
    CHECK(halo.unseen_share(1000.0) == Approx(halo.unseen_on_bench(1000.0)));
    halo.finest_mm.fill(1e6);
    halo.plainness.assign(40, 5.0);
    CHECK(halo.unseen_share(1000.0) == Approx(1.0 / 3).epsilon(0.01));
    halo.plainness.assign(40, 1.2);
    CHECK(halo.unseen_share(1000.0) == Approx((20 + 40 * 2.0 / 3) / 60).epsilon(0.01));
    // From straight above nothing is too long or in doubt for the height; the doubt grows with the root.
    CHECK(seen_too_long(0.0) == Approx(1.0));
    CHECK(seen_too_long(0.75) == Approx(1.25));
    CHECK(height_u_rel(0.0) == Approx(0.0));
    CHECK(height_u_rel(0.4) == Approx(2 * height_u_rel(0.1)));
}

TEST_CASE("a groove of the bench that runs on past any fibre is no fibre", "[halo]") {
    // As pale as fibres, from under the rope to beyond the strip.
    Bench bench;
    bench.fluff(50.0, 60.0, 0.6, 2.0);
    bench.draw({53.0, 48.0, 1.0, 7.0, 0.06});
    bench.draw({57.0, 70.0, 1.0, 34.0, 0.08});
    const Halo halo = bench.halo();
    CHECK(farthest(halo.right, 1) == Approx(radius_mm + 7.0).margin(0.6));
}

TEST_CASE("a lamp's glare beside the rope is no mass of fibres", "[halo]") {
    // Paler than fibres and of another hue, over both edges and the rope.
    Bench bench;
    bench.fluff(50.0, 60.0, 0.6, 2.0);
    bench.glare(92.0, 10.0, 0.4);
    const Halo halo = bench.halo();
    CHECK(halo.cover->stirred[55]);
    for (std::size_t s = 84; s < 100; ++s) {
        CHECK(halo.right[s] == Approx(radius_mm));
        CHECK(halo.dense_right[s] == Approx(radius_mm));
    }
}

}  // namespace
