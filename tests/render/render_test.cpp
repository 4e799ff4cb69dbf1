// SPDX-License-Identifier: Apache-2.0
#include "render/render.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <future>
#include <numbers>
#include <opencv2/core.hpp>
#include <vector>

#include "render/camera_view.h"
#include "render/srgb.h"

namespace frayhold::render {
namespace {

// Straight down from 20 m through a long lens: plan view to 0.03 %.
constexpr double far_mm = 20'000.0;

Scene far_above(int width_px, int height_px, double px_per_mm) {
    Scene scene;
    const double focal_px = px_per_mm * far_mm;
    const double focal_35mm = focal_px * std::hypot(36.0, 24.0) / std::hypot(width_px, height_px);
    scene.view = look_at_bench(width_px, height_px, focal_35mm, far_mm, 0.0, 0.0, 0.0);
    scene.light.towards = {0.0, 0.0, 1.0};
    scene.light.key = 0.0;
    scene.light.ambient = 1.0;
    scene.light.exposure = 0.9;
    scene.light.vignette = 0.0;
    scene.bench.sort = BenchSort::table;
    scene.bench.light = scene.bench.dark = {1.F, 1.F, 1.F};
    scene.sensor = {0.4, 0.0, 0.0, 0.0, 0.0};
    return scene;
}

Rope black_rope(double diameter_mm) {
    Rope rope;
    rope.diameter_mm = diameter_mm;
    rope.sheath = {0.F, 0.F, 0.F};
    // Along the picture's x axis, whichever way that lies on the bench.
    rope.line = CentreLine({0.0, -500.0}, std::numbers::pi / 2, {{1000.0, 0.0}});
    return rope;
}

double linear(const cv::Mat& bgr, int y, int x) {
    return static_cast<double>(linear_of_srgb(static_cast<float>(bgr.at<cv::Vec3b>(y, x)[1]) / 255.F));
}

// Height of the dark band in column x, in pixels: from where the light has halved to where it has come back.
double dark_band(const cv::Mat& bgr, int x) {
    const auto crossing = [&](int from, int step) {
        for (int y = from;; y += step) {
            const double outside = linear(bgr, y - 3 * step, x);
            const double here = linear(bgr, y, x);
            if (here > 0.5 * outside) continue;
            const double before = linear(bgr, y - step, x);
            return y - step * (0.5 * outside - here) / (before - here);
        }
    };
    return crossing(bgr.rows - 10, -1) - crossing(10, 1);
}

}  // namespace

TEST_CASE("A rope's outline from far above is its diameter") {
    for (const double diameter : {8.0, 9.73, 13.0}) {
        constexpr double px_per_mm = 20.0;
        Scene scene = far_above(320, 480, px_per_mm);
        scene.rope = black_rope(diameter);
        const Rendered rendered = render(scene);
        CHECK(rendered.truth.sound_width == diameter);
        for (const int x : {60, 150, 260}) {
            const double mm = dark_band(rendered.bgr, x) / px_per_mm * (far_mm - diameter / 2) / far_mm;
            INFO("diameter " << diameter << " column " << x << " measured " << mm);
            CHECK(mm == Approx(diameter).margin(0.03));
        }
    }
}

TEST_CASE("A flattened stretch is as wide as told") {
    constexpr double px_per_mm = 20.0;
    Scene scene = far_above(320, 480, px_per_mm);
    scene.rope = black_rope(10.0);
    scene.rope->flattened = Stretch{500.0, 30.0, 8.0};
    scene.rope->flattened_share = 0.18;
    const Rendered rendered = render(scene);
    CHECK(rendered.truth.local_width.value() == Approx(11.8));
    CHECK(dark_band(rendered.bgr, 160) / px_per_mm == Approx(11.8).margin(0.05));
}

TEST_CASE("Webbing, its nick and its edge are as told") {
    constexpr double px_per_mm = 12.0;
    Scene scene = far_above(320, 480, px_per_mm);
    Webbing web;
    web.line = CentreLine({0.0, -500.0}, std::numbers::pi / 2, {{1000.0, 0.0}});
    web.width_mm = 25.0;
    web.thickness_mm = 2.0;
    web.base = web.stripe = web.thread = {0.F, 0.F, 0.F};
    web.nick = Nick{500.0, 6.0, 4.5, 1, 0.3};
    scene.webbing = web;
    const Rendered rendered = render(scene);
    CHECK(rendered.truth.web_width == 25.0);
    CHECK(rendered.truth.nick_depth == 4.5);
    CHECK(dark_band(rendered.bgr, 30) / px_per_mm == Approx(25.0).margin(0.05));
    double narrowest = 1e9;
    int cut = 0;
    for (int x = 40; x < 280; ++x) {
        const double mm = dark_band(rendered.bgr, x) / px_per_mm;
        narrowest = std::min(narrowest, mm);
        if (mm < 25.0 - 0.15) ++cut;
    }
    CHECK(25.0 - narrowest == Approx(4.5).margin(0.25));  // the blur rounds the nick's point
    CHECK(cut / px_per_mm == Approx(6.0).margin(0.5));
}

TEST_CASE("The core's area is what shows from above") {
    constexpr double px_per_mm = 20.0;
    Scene scene = far_above(900, 400, px_per_mm);
    scene.rope = black_rope(11.0);
    CoreWindow window;
    window.middle_mm = 500.0;
    window.half_length_mm = 9.0;
    window.middle_angle = 0.4;
    window.half_angle = 0.6;
    window.edge_seed = 3;
    window.core = {1.F, 1.F, 1.F};
    scene.rope->core = window;
    const Rendered rendered = render(scene);
    // Inside the rope's outline only the core is not black.
    int bright = 0;
    int first = rendered.bgr.cols;
    int last = 0;
    const int half_rope = static_cast<int>(5.3 * px_per_mm);
    for (int y = 200 - half_rope; y < 200 + half_rope; ++y)
        for (int x = 0; x < rendered.bgr.cols; ++x)
            if (rendered.bgr.at<cv::Vec3b>(y, x)[1] > 40) {
                ++bright;
                first = std::min(first, x);
                last = std::max(last, x);
            }
    CHECK(bright / (px_per_mm * px_per_mm) == Approx(rendered.truth.core_area.value()).epsilon(0.03));
    CHECK((last - first + 1) / px_per_mm == Approx(rendered.truth.core_length.value()).margin(0.2));
}

TEST_CASE("Card corners lie where the picture's edges meet") {
    for (const double tilt : {0.0, 0.3, 0.6}) {
        Scene scene;
        scene.view = look_at_bench(2000, 1500, 26.0, 150.0, tilt, 1.2, 0.4);
        scene.light.towards = unit({0.3, 0.2, 0.9});
        scene.light.exposure = 0.6;
        scene.light.vignette = 0.0;
        scene.bench.sort = BenchSort::table;
        scene.bench.light = scene.bench.dark = {0.05F, 0.05F, 0.05F};
        Flat card;
        card.middle = {12.0, -7.0};
        card.heading = 0.7;
        scene.card = card;
        scene.sensor = {0.7, 0.0, 0.0, 0.0, 0.0};
        const Rendered rendered = render(scene);
        const auto& corners = rendered.truth.card_corners_px.value();

        const auto value = [&](cv::Point2d p) {
            const int x = static_cast<int>(p.x);
            const int y = static_cast<int>(p.y);
            const double fx = p.x - x;
            const double fy = p.y - y;
            const double top = linear(rendered.bgr, y, x) * (1 - fx) + linear(rendered.bgr, y, x + 1) * fx;
            const double low =
                linear(rendered.bgr, y + 1, x) * (1 - fx) + linear(rendered.bgr, y + 1, x + 1) * fx;
            return top * (1 - fy) + low * fy;
        };
        // Each side as a line a x + b y = c through half-way points of the step from bench to paper.
        std::vector<cv::Vec3d> sides;
        for (std::size_t i = 0; i < 4; ++i) {
            const cv::Point2d from = corners.at(i);
            const cv::Point2d run = corners.at((i + 1) % 4) - from;
            const cv::Point2d out = cv::Point2d(run.y, -run.x) / cv::norm(run);
            std::vector<cv::Point2d> points;
            for (double t = 0.1; t < 0.9; t += 0.01) {
                const cv::Point2d p = from + t * run;
                const double half = 0.5 * (value(p + 6.0 * out) + value(p - 3.5 * out));
                for (double u = -3.5; u < 6.0; u += 0.02)
                    if (value(p + u * out) < half) {
                        points.push_back(p + u * out);
                        break;
                    }
            }
            cv::Point2d mean(0, 0);
            for (const auto& p : points) mean += p / static_cast<double>(points.size());
            double xx = 0.0;
            double xy = 0.0;
            double yy = 0.0;
            for (const auto& p : points) {
                const cv::Point2d d = p - mean;
                xx += d.x * d.x;
                xy += d.x * d.y;
                yy += d.y * d.y;
            }
            const double angle = 0.5 * std::atan2(2 * xy, xx - yy);
            sides.emplace_back(-std::sin(angle), std::cos(angle),
                               -std::sin(angle) * mean.x + std::cos(angle) * mean.y);
        }
        for (std::size_t i = 0; i < 4; ++i) {
            const cv::Vec3d& a = sides[(i + 3) % 4];
            const cv::Vec3d& b = sides[i];
            const double det = a[0] * b[1] - a[1] * b[0];
            const cv::Point2d meet((a[2] * b[1] - a[1] * b[2]) / det, (a[0] * b[2] - a[2] * b[0]) / det);
            INFO("tilt " << tilt << " corner " << i << " off by " << cv::norm(meet - corners.at(i)) << " px");
            CHECK(cv::norm(meet - corners.at(i)) < 0.08);
        }
    }
}

TEST_CASE("The same scene gives the same bytes, alone or beside another") {
    SceneChoice choice;
    choice.width_px = 640;
    choice.height_px = 480;
    const Scene scene = random_scene(4, SceneKind::frayed_rope, choice);
    const Scene other = random_scene(5, SceneKind::webbing, choice);
    const cv::Mat once = render(scene).bgr;
    auto beside = std::async(std::launch::async, [&] { return render(other).bgr; });
    const cv::Mat twice = render(random_scene(4, SceneKind::frayed_rope, choice)).bgr;
    CHECK(cv::norm(once, twice, cv::NORM_INF) == 0.0);
    CHECK(cv::norm(beside.get(), render(other).bgr, cv::NORM_INF) == 0.0);
    CHECK(cv::norm(once, render(random_scene(6, SceneKind::frayed_rope, choice)).bgr, cv::NORM_INF) > 0.0);
}

TEST_CASE("The true centre line runs through the rope in the picture") {
    SceneChoice choice;
    choice.width_px = 1200;
    choice.height_px = 900;
    choice.clutter = false;
    Scene scene = random_scene(8, SceneKind::rope, choice);
    scene.rope->sheath = {0.F, 0.F, 0.F};
    scene.rope->tracers.clear();
    scene.rope->soil = 0.0;
    scene.bench.light = scene.bench.dark = {0.8F, 0.8F, 0.8F};
    scene.light.bands.clear();
    const Rendered rendered = render(scene);
    int seen = 0;
    int dark = 0;
    const Projection projection(scene.view);
    for (const cv::Point2d& p : rendered.truth.centre_px) {
        if (!projection.in_frame({p.x, p.y}, 2.0)) continue;
        ++seen;
        if (linear(rendered.bgr, static_cast<int>(std::lround(p.y)), static_cast<int>(std::lround(p.x))) <
            0.12)
            ++dark;
    }
    CHECK(seen > 100);
    CHECK(dark == seen);
}

}  // namespace frayhold::render
