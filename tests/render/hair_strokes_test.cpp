// SPDX-License-Identifier: Apache-2.0
#include "render/hair_strokes.h"

#include <catch2/catch.hpp>
#include <limits>
#include <opencv2/core.hpp>

namespace frayhold::render {
namespace {

struct Sheet {
    Scene scene;
    cv::Mat picture;
    cv::Mat depth;

    Sheet() {
        scene.view = look_at_bench(400, 300, 26.0, 100.0, 0.0, 0.0, 0.0);
        scene.light.towards = {0.0, 0.0, 1.0};
        scene.fibre = {0.F, 0.F, 0.F};
        picture = cv::Mat(300, 400, CV_32FC3, cv::Scalar::all(1.0));
        depth = cv::Mat(300, 400, CV_32FC1, cv::Scalar(std::numeric_limits<double>::infinity()));
    }
    // How much of the white sheet the fibres took, in pixels.
    double taken() {
        const Projection projection(scene.view);
        const LightField light(scene, projection);
        draw_hairs(scene, projection, light, depth, picture);
        return 400.0 * 300.0 - cv::sum(picture)[0];
    }
    [[nodiscard]] double px_per_mm() const { return scene.view.focal_px / 100.0; }
};

}  // namespace

TEST_CASE("A fibre covers its own area of pixels") {
    for (const double thickness : {0.02, 0.08, 0.5}) {
        Sheet sheet;
        sheet.scene.hairs.push_back({{-20.0, -11.0, 0.0}, {0.0, 3.0, 0.0}, {25.0, 4.0, 0.0}, thickness, 1.F});
        double chain = 0.0;
        for (int i = 0; i < 1000; ++i) {
            const auto at = [](double t) {
                return Vec2{(1 - t) * (1 - t) * -20.0 + t * t * 25.0,
                            (1 - t) * (1 - t) * -11.0 + 2 * t * (1 - t) * 3.0 + t * t * 4.0};
            };
            chain += length(at((i + 1) / 1000.0) - at(i / 1000.0));
        }
        const double expected = chain * thickness * sheet.px_per_mm() * sheet.px_per_mm();
        INFO("thickness " << thickness);
        CHECK(sheet.taken() == Approx(expected).epsilon(0.01));
    }
}

TEST_CASE("What is nearer hides a fibre") {
    Sheet sheet;
    sheet.scene.hairs.push_back({{-20.0, 0.0, 2.0}, {0.0, 0.0, 2.0}, {20.0, 0.0, 2.0}, 0.05, 1.F});
    sheet.depth.setTo(cv::Scalar(95.0));
    CHECK(sheet.taken() == 0.0);
    sheet.depth.setTo(cv::Scalar(99.0));
    CHECK(sheet.taken() > 1.0);
}

}  // namespace frayhold::render
