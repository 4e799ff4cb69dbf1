// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <opencv2/calib3d.hpp>

#include "gauge/card_design.h"
#include "gauge/view.h"
#include "render/camera_view.h"
#include "render/render.h"
#include "render/scene.h"

// Small pictures of a card on an even bench, with the view they were taken from.
namespace frayhold::gauge {

// What View's parameters are when the renderer's camera looks at a card lying on its bench.
inline View true_view(const render::View& camera, const render::Flat& card) {
    const cv::Matx33d camera_from_world(camera.right.x, camera.right.y, camera.right.z, camera.down.x,
                                        camera.down.y, camera.down.z, camera.forward.x, camera.forward.y,
                                        camera.forward.z);
    // The renderer's world is z up; the bench frame here has y down the card and heights against z.
    const double c = std::cos(card.heading), s = std::sin(card.heading);
    const cv::Matx33d world_from_bench(c, s, 0, s, -c, 0, 0, 0, -1);
    const cv::Vec3d middle(card.middle.x, card.middle.y, 0);
    const cv::Vec3d origin = middle - world_from_bench * cv::Vec3d(card.width_mm / 2, card.height_mm / 2, 0);
    const cv::Vec3d t =
        camera_from_world * (origin - cv::Vec3d(camera.position.x, camera.position.y, camera.position.z));
    cv::Vec3d r;
    cv::Rodrigues(camera_from_world * world_from_bench, r);
    return View({std::log(camera.focal_px), camera.k1, r[0], r[1], r[2], t[0], t[1], t[2]},
                {(camera.width_px - 1) / 2.0, (camera.height_px - 1) / 2.0}, camera.k2);
}

inline render::Scene card_scene(int width_px, double distance_mm, double tilt_deg, double azimuth,
                                double roll) {
    constexpr double degree = 3.14159265358979323846 / 180;
    render::Scene scene;
    scene.view = render::look_at_bench(width_px, width_px * 3 / 4, 27.0, distance_mm, tilt_deg * degree,
                                       azimuth, roll);
    scene.light.towards = {0.3, 0.2, 0.93};
    scene.light.exposure = 0.8;
    scene.bench.sort = render::BenchSort::table;
    scene.bench.light = {0.20F, 0.22F, 0.21F};
    scene.bench.dark = {0.16F, 0.18F, 0.17F};
    scene.card = render::Flat{};
    scene.card->lines = {"HOLD 1234", "REFERENCE CARD", "CHECK THE TICKS"};
    return scene;
}

inline double worst_corner_px(const View& found, const View& truth) {
    double worst = 0.0;
    for (const cv::Point2d corner : {cv::Point2d(0, 0), cv::Point2d(id1_width_mm, 0),
                                     cv::Point2d(id1_width_mm, id1_height_mm), cv::Point2d(0, id1_height_mm)})
        worst =
            std::max(worst, cv::norm(found.picture_from_bench(corner) - truth.picture_from_bench(corner)));
    return worst;
}

}  // namespace frayhold::gauge
