// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <numbers>

#include "render/camera_view.h"
#include "render/flat_picture.h"
#include "render/fray_profile.h"
#include "render/render.h"
#include "render/rope_surface.h"

namespace frayhold::render {
namespace {

cv::Point2d point(Vec2 v) {
    return {v.x, v.y};
}

void tell_core(const RopeSurface& surface, const Rope& rope, Truth& truth) {
    constexpr double step = 0.02;
    const double radius = rope.diameter_mm / 2;
    const CoreWindow& window = *rope.core;
    double area = 0.0;
    double from = 1e9;
    double to = -1e9;
    for (double s = window.middle_mm - 2 * window.half_length_mm;
         s < window.middle_mm + 2 * window.half_length_mm; s += step) {
        for (double q = -radius + step / 2; q < radius; q += step) {
            if (!surface.in_core(s, std::asin(q / radius))) continue;
            area += step * step;
            from = std::min(from, s);
            to = std::max(to, s + step);
        }
    }
    truth.core_area = area;
    truth.core_length = std::max(0.0, to - from);
}

}  // namespace

Truth truth_of(const Scene& scene) {
    const Projection projection(scene.view);
    Truth truth;
    truth.focal_px = scene.view.focal_px;
    truth.k1 = scene.view.k1;
    truth.k2 = scene.view.k2;
    truth.nominal_mm = scene.nominal_mm;
    truth.tilt_deg = std::acos(-scene.view.forward.z) * 180.0 / std::numbers::pi;
    truth.distance_mm = length(scene.view.position);
    if (scene.card) {
        const auto corners = corners_of(*scene.card);
        std::array<cv::Point2d, 4> px;
        for (std::size_t i = 0; i < 4; ++i) px.at(i) = point(projection.pixel_of(corners.at(i)));
        truth.card_corners_px = px;
        truth.distance_mm =
            length(scene.view.position - Vec3{scene.card->middle.x, scene.card->middle.y, 0.0});
    }

    const CentreLine* line = nullptr;
    if (scene.rope) line = &scene.rope->line;
    if (scene.webbing) line = &scene.webbing->line;
    if (line == nullptr) return truth;

    std::optional<RopeSurface> rope;
    if (scene.rope) rope.emplace(*scene.rope, shared_noise());
    const auto stations = static_cast<std::size_t>(line->length_mm());
    std::vector<double> half_width(stations);
    for (std::size_t i = 0; i < stations; ++i) {
        const double s = static_cast<double>(i) + 0.5;
        const double half = rope ? rope->half_width(s) : scene.webbing->width_mm / 2;
        const double height = rope ? rope->half_height(s) : scene.webbing->thickness_mm / 2;
        const Vec2 at = line->at(s);
        half_width[i] = half;
        truth.station_mm.push_back(s);
        truth.centre_px.push_back(point(projection.pixel_of({at.x, at.y, height})));
        truth.width_mm.push_back(2 * half);
    }
    const FrayProfile fray = fray_profile(*line, half_width, scene.hairs);
    truth.fray_mm = fray.outer_mm;
    truth.dense_mm = fray.dense_mm;

    if (scene.rope) {
        truth.sound_width = scene.rope->diameter_mm;
        if (scene.rope->flattened) truth.local_width = 2 * rope->half_width(scene.rope->flattened->middle_mm);
        if (scene.rope->core) tell_core(*rope, *scene.rope, truth);
        if (scene.rope->glazed) truth.glaze_length = 2 * scene.rope->glazed->half_length_mm;
        if (!scene.hairs.empty()) {
            truth.fray_width = *std::max_element(fray.outer_mm.begin(), fray.outer_mm.end());
            truth.fray_dense_width = *std::max_element(fray.dense_mm.begin(), fray.dense_mm.end());
            truth.fray_length = static_cast<double>(std::count(fray.halo.begin(), fray.halo.end(), true));
            truth.fray_area = fray.area_mm2;
        }
    } else {
        const Webbing& web = *scene.webbing;
        truth.web_width = web.width_mm;
        if (web.nick) {
            truth.nick_depth = web.nick->depth_mm;
            truth.nick_length = web.nick->length_mm;
        }
        if (web.fluffed) {
            const double reach = web.fluffed->half_length_mm + web.fluffed->edge_mm;
            double fluffed = 0.0;
            for (std::size_t i = 0; i < stations; ++i)
                if (fray.halo[i] && std::abs(truth.station_mm[i] - web.fluffed->middle_mm) <= reach)
                    fluffed += 1.0;
            truth.fluff_length = fluffed;
        }
        truth.stitch_rows = static_cast<int>(web.rows.size());
        int gaps = 0;
        for (const StitchRow& row : web.rows) gaps += static_cast<int>(row.gaps_mm.size());
        truth.stitch_gaps = gaps;
    }
    return truth;
}

}  // namespace frayhold::render
