// SPDX-License-Identifier: Apache-2.0
#include "gauge/paper_tint.h"

#include <catch2/catch.hpp>

#include "gauge/card_scene.h"
#include "gauge/light.h"

namespace frayhold::gauge {
namespace {

// A card under a lamp of some tint.
struct Lit {
    cv::Mat bgr;
    ViewFit fit;
};

Lit lit(render::Colour tint) {
    render::Scene scene = card_scene(1600, 400, 10.0, 0.4, 0.2);
    scene.light.tint = tint;
    scene.card->paper = {0.85F, 0.85F, 0.85F};
    ViewFit fit{true_view(scene.view, *scene.card), {}};
    fit.white = 0.5;
    return {render::render(scene).bgr, fit};
}

cv::Vec3d linear_mean(const cv::Mat& bgr, cv::Point2d at, int reach) {
    cv::Vec3d sum;
    double count = 0.0;
    for (int y = -reach; y <= reach; ++y)
        for (int x = -reach; x <= reach; ++x) {
            const auto& pixel = bgr.at<cv::Vec3b>(cv::Point(at) + cv::Point(x, y));
            for (int i = 0; i < 3; ++i) sum[i] += static_cast<double>(linear_of_srgb()[pixel[i]]);
            count += 1.0;
        }
    return sum / count;
}

TEST_CASE("Light is made neutral by the card's paper") {
    const Lit warm = lit({1.0F, 0.85F, 0.62F});
    const PaperTint tint = paper_tint(warm.bgr, warm.fit);
    CHECK(tint.gains[0] == Approx(1.0).margin(0.02));
    CHECK(tint.gains[1] == Approx(0.62 / 0.85).margin(0.03));
    CHECK(tint.gains[2] == Approx(0.62).margin(0.03));
    // Bare paper between the hold number and the grey steps.
    const cv::Point2d bare = warm.fit.view.picture_from_bench({42.0, 25.5});
    const cv::Vec3d before = linear_mean(warm.bgr, bare, 3),
                    after = linear_mean(tint.taken_from(warm.bgr), bare, 3);
    CHECK(after[1] == Approx(after[0]).epsilon(0.03));
    CHECK(after[2] == Approx(after[0]).epsilon(0.03));
    CHECK(tint.of_paper() == Approx(after.dot(luminance_mix) / before.dot(luminance_mix)).epsilon(0.03));
}

TEST_CASE("Neutral light stays as it is") {
    const Lit neutral = lit({1.0F, 1.0F, 1.0F});
    const PaperTint tint = paper_tint(neutral.bgr, neutral.fit);
    for (int i = 0; i < 3; ++i) CHECK(tint.gains[i] == Approx(1.0).margin(0.02));
    CHECK(tint.of_paper() == Approx(1.0).margin(0.02));
}

TEST_CASE("Without a printed card, or with none of its paper in sight, nothing is known of the tint") {
    Lit warm = lit({1.0F, 0.85F, 0.62F});
    CHECK(paper_tint(cv::Mat(warm.bgr.size(), CV_8UC3, cv::Scalar::all(255)), warm.fit).gains ==
          cv::Vec3d(1, 1, 1));
    warm.fit.white = 0.0;
    CHECK(paper_tint(warm.bgr, warm.fit).gains == cv::Vec3d(1, 1, 1));
}

}  // namespace
}  // namespace frayhold::gauge
