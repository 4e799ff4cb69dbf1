// SPDX-License-Identifier: Apache-2.0
#include "render/hair_strokes.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "render/fray_profile.h"

namespace frayhold::render {
namespace {

struct Dab {
    int pixel = 0;
    float area = 0.F;
    float brightness = 0.F;
};

// Light scattered by a thin fibre: least where it points at the lamp (Kajiya and Kay 1989).
float brightness_of(Vec3 along, const Light& light, LightField::Here here) {
    const double c = dot(along, light.towards);
    const double sine = std::sqrt(std::max(0.0, 1.0 - c * c));
    return here.ambient * 0.95F + here.key * static_cast<float>(0.75 * sine);
}

}  // namespace

void draw_hairs(const Scene& scene, const Projection& projection, const LightField& light,
                const cv::Mat& depth, cv::Mat& picture) {
    constexpr double step_px = 0.25;
    constexpr double lane_px = 0.2;
    constexpr float nearer_mm = 0.08F;
    std::vector<Dab> dabs;
    for (const Hair& hair : scene.hairs) {
        dabs.clear();
        const double scale = scene.view.focal_px / projection.depth_of(hair.bend);
        const int steps = std::max(2, static_cast<int>(std::ceil(hair_length(hair) * scale / step_px)));
        const int lanes = std::max(1, static_cast<int>(std::ceil(hair.thickness_mm * scale / lane_px)));
        Vec3 last = hair.root;
        Vec2 last_px = projection.pixel_of(last);
        for (int i = 1; i <= steps; ++i) {
            const double at_t = static_cast<double>(i) / steps;
            const Vec3 point = along_hair(hair, at_t);
            const Vec2 px = projection.pixel_of(point);
            const Vec2 run = px - last_px;
            const double run_px = length(run);
            if (run_px > 1e-6 && projection.in_frame(px, 1.0) && projection.in_frame(last_px, 1.0)) {
                const double here_scale = scene.view.focal_px / projection.depth_of(point);
                const double wide = hair.thickness_mm * here_scale;
                const Vec2 side = (1.0 / run_px) * left_of(run);
                const Vec2 middle = 0.5 * (px + last_px);
                const auto far = static_cast<float>(projection.depth_of(point));
                // Towards its root a fibre stands in the shade of its neighbours.
                const float depth_in_fluff = 0.6F + 0.4F * static_cast<float>(smooth_step(0.0, 0.5, at_t));
                const float brightness =
                    depth_in_fluff * hair.shade *
                    brightness_of(unit(point - last), scene.light, light.at(middle.x, middle.y));
                const auto area = static_cast<float>(run_px * wide / lanes);
                for (int lane = 0; lane < lanes; ++lane) {
                    const Vec2 at = middle + (wide * ((lane + 0.5) / lanes - 0.5)) * side;
                    const int x = static_cast<int>(at.x + 0.5);
                    const int y = static_cast<int>(at.y + 0.5);
                    if (x < 0 || y < 0 || x >= picture.cols || y >= picture.rows) continue;
                    if (far > depth.at<float>(y, x) + nearer_mm) continue;
                    dabs.push_back({y * picture.cols + x, area, brightness});
                }
            }
            last = point;
            last_px = px;
        }
        std::sort(dabs.begin(), dabs.end(), [](const Dab& a, const Dab& b) {
            return a.pixel != b.pixel ? a.pixel < b.pixel : a.brightness < b.brightness;
        });
        for (std::size_t i = 0; i < dabs.size();) {
            const int pixel = dabs[i].pixel;
            float area = 0.F;
            float lit = 0.F;
            for (; i < dabs.size() && dabs[i].pixel == pixel; ++i) {
                area += dabs[i].area;
                lit += dabs[i].area * dabs[i].brightness;
            }
            const float cover = std::min(area, 1.F);
            const Colour fibre = (lit / area) * (scene.fibre * scene.light.tint);
            auto& value = picture.ptr<cv::Vec3f>(pixel / picture.cols)[pixel % picture.cols];
            value = (1.F - cover) * value + cover * cv::Vec3f(fibre.r, fibre.g, fibre.b);
        }
    }
}

}  // namespace frayhold::render
