// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <vector>

#include "render/scene.h"

namespace frayhold::render {

// What a rendered picture shows, worked out from the scene and never from the picture.
// Pixels of the upright picture, origin at the centre of the top left pixel; lengths in mm. A value that does
// not apply is empty. "Plan view": orthographic, from straight above the bench. "Station": 1 mm of centre
// line.
struct Truth {
    std::optional<std::array<cv::Point2d, 4>> card_corners_px;  // from the card's own top left, clockwise
    double tilt_deg = 0.0;  // between the camera's axis and the bench's normal
    double distance_mm =
        0.0;  // from the camera to the card's centre; to the bench along the axis without a card
    double focal_px = 0.0;
    double k1 = 0.0, k2 = 0.0;

    double nominal_mm = 0.0;            // diameter or width as sold
    std::optional<double> sound_width;  // rope: diameter where undamaged
    std::optional<double> fray_width;   // plan view: outermost fibre left to outermost right; largest station
    std::optional<double>
        fray_dense_width;  // same, to where fibres cover half (see fray_profile); largest station
    std::optional<double> fray_length;  // stations with a fibre more than 0.5 mm outside the surface
    std::optional<double> fray_area;  // mm2: sum over stations of what fray_width exceeds the rope's width by
    std::optional<double> local_width;  // plan view: the width where the rope is flattened most
    std::optional<double> core_area;    // mm2 of core seen, plan view
    std::optional<double> core_length;  // along the rope, plan view
    std::optional<double> glaze_length;
    std::optional<double> web_width;
    std::optional<double> nick_depth;
    std::optional<double> nick_length;
    std::optional<double>
        fluff_length;  // stations of the fluffed edge with a fibre more than 0.5 mm outside it
    std::optional<int> stitch_rows;
    std::optional<int> stitch_gaps;

    // The item's centre line by 1 mm of arc length: the axis at half its height.
    std::vector<double> station_mm;
    std::vector<cv::Point2d> centre_px;
    std::vector<double> width_mm;  // plan view, without loose fibres
    std::vector<double> fray_mm;   // plan view, outermost fibres
    std::vector<double> dense_mm;  // plan view, to half coverage
};

struct Rendered {
    cv::Mat bgr;  // CV_8UC3, sRGB
    Truth truth;
};

[[nodiscard]] Truth truth_of(const Scene& scene);

// Same scene, same bytes. Safe to call from several threads at once.
[[nodiscard]] Rendered render(const Scene& scene);

}  // namespace frayhold::render
