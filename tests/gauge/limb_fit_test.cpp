// SPDX-License-Identifier: Apache-2.0
#include "gauge/limb_fit.h"

#include <catch2/catch.hpp>
#include <cmath>

namespace frayhold::gauge {
namespace {

constexpr double spacing_mm = 0.1, blur_mm = 0.12, radius_mm = 5.5;

// Light before the blur, outward from the edge: a Lambert cylinder lit from one side, its shadow fading out
// over the bench.
cv::Vec3d round_and_lit(double outward_mm) {
    if (outward_mm < 0) {
        const double sine = 1 + outward_mm / radius_mm, cosine = std::sqrt(std::max(0.0, 1 - sine * sine));
        const double lit = 0.12 + 0.1 * sine + 0.25 * cosine;
        return {lit, -0.10 - 0.05 * cosine, 0.22 + 0.04 * sine};
    }
    return {0.16 + 0.05 * outward_mm, 0.01, -0.02};
}

// A pale braid whose side away from the light lies in its own shade, on a bench of its own hue in shadow:
// what changes most, near the limb, is where the shade begins.
cv::Vec3d braid_in_shade(double outward_mm) {
    if (outward_mm >= 0) return {0.072, -0.010, 0.004};
    constexpr double shade_mm = 0.4, lit_mm = 1.0, yarn_mm = 1.2;
    const double lit = 0.14 + 0.25 * std::clamp(-outward_mm - shade_mm, 0.0, lit_mm - shade_mm),
                 yarns = 1 + 0.1 * std::sin(2 * CV_PI * outward_mm / yarn_mm + 2);
    return {lit * yarns, -0.014, 0.007};
}

// What a lens makes of it, the colours blurred by one pixel more, as photos store them.
std::vector<cv::Vec3d> line_with_edge_at(const LimbFit& fit, double edge_mm,
                                         cv::Vec3d (*light_at)(double) = round_and_lit) {
    std::vector<cv::Vec3d> line;
    for (int i = 0; i < fit.samples(); ++i) {
        cv::Vec3d sum, weights;
        constexpr double step_mm = 0.002;
        for (double t = -1; t <= 1; t += step_mm) {
            const cv::Vec3d light = light_at(fit.outward_mm(i) + t - edge_mm);
            for (int channel = 0; channel < 3; ++channel) {
                const double sigma = channel == 0 ? blur_mm : std::hypot(blur_mm, spacing_mm);
                const double weight = std::exp(-0.5 * std::pow(t / sigma, 2));
                sum[channel] += weight * light[channel];
                weights[channel] += weight;
            }
        }
        for (int channel = 0; channel < 3; ++channel) sum[channel] /= weights[channel];
        line.push_back(sum);
    }
    return line;
}

}  // namespace

TEST_CASE("The limb of a shaded cylinder over its own shadow is found where it was drawn") {
    const LimbFit fit(spacing_mm, blur_mm, spacing_mm, radius_mm);
    for (const double edge_mm : {-0.6, -0.21, 0.0, 0.33, 0.7}) {
        CAPTURE(edge_mm);
        const auto edge = fit.edge(line_with_edge_at(fit, edge_mm));
        REQUIRE(edge);
        CHECK(edge->outward_mm == Approx(edge_mm).margin(0.01));
        CHECK(edge->plainness > 3);
    }
}

TEST_CASE("The braid's own shade is not taken for its limb") {
    const LimbFit fit(spacing_mm, blur_mm, spacing_mm, radius_mm, {3.0, 2.5});
    for (const double edge_mm : {-0.3, 0.0, 0.5}) {
        CAPTURE(edge_mm);
        const auto edge = fit.edge(line_with_edge_at(fit, edge_mm, braid_in_shade));
        REQUIRE(edge);
        CHECK(edge->outward_mm == Approx(edge_mm).margin(0.2));
    }
}

TEST_CASE("No limb is found where light only changes slowly, or where it lies beyond the reach") {
    const LimbFit fit(spacing_mm, blur_mm, spacing_mm, radius_mm, {3.0, 2.5});
    std::vector<cv::Vec3d> slow;
    for (int i = 0; i < fit.samples(); ++i) {
        const double t = fit.outward_mm(i);
        slow.emplace_back(0.3 + 0.02 * t - 0.01 * t * t, 0.05 + 0.01 * t, -0.1 + 0.004 * t * t);
    }
    CHECK_FALSE(fit.edge(slow));
    CHECK_FALSE(fit.edge(line_with_edge_at(fit, 1.6)));
}

TEST_CASE("The likeliest of all places is the edge's") {
    const LimbFit fit(spacing_mm, blur_mm, spacing_mm, radius_mm);
    const auto costs = fit.costs(line_with_edge_at(fit, 0.4));
    REQUIRE(costs.size() == fit.places_mm().size());
    const auto best = std::min_element(costs.begin(), costs.end()) - costs.begin();
    CHECK(fit.places_mm()[static_cast<std::size_t>(best)] == Approx(0.4).margin(0.02));
}

}  // namespace frayhold::gauge
