// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/types.hpp>

namespace frayhold::gauge {

// The diameter of a round item from its two edges of sight.
//
// Seen along its axis a rope is a circle, and all the camera sees of it lies between two tangent rays. Rays
// that graze a long cylinder stay tangent when the picture is projected along the axis, so the problem is
// plane and exact, from whatever angle the camera looks. The edges do not lie on the bench, and a near camera
// sees less than half of the rope, so the width read on the bench is too large by some 1 to 5 % at arm's
// length.
//
// left_mm and right_mm: where the two rays meet the reference plane. camera: the camera's centre, height over
// that plane in z. Only the parts along left-right count. All in millimetres of one frame.

// A flattened item is an ellipse across its axis, its long axis along the plane. Heights enlarged by its
// aspect, the camera's with them, make it a circle between the same two rays, and leave the plane as it is.
struct SightedEllipse {
    double width_mm = 0.0;  // its long axis; of a round item the diameter
    double foot_mm = 0.0;   // from left_mm towards right_mm to below its middle
};

// The rope lies on the plane: the circle touches both rays and the plane, so it is inscribed in the triangle
// of camera, left and right: d = 2 area / half the perimeter = 2 h w / (w + a + b).
//   aspect   width over height; 1 is round
[[nodiscard]] SightedEllipse ellipse_on_plane_mm(cv::Point2d left_mm, cv::Point2d right_mm,
                                                 cv::Point3d camera, double aspect);

// The plane passes through the rope's axis (the card was raised to it): the circle's centre lies on the
// plane, on the bisector of the two rays.
[[nodiscard]] SightedEllipse ellipse_about_plane_mm(cv::Point2d left_mm, cv::Point2d right_mm,
                                                    cv::Point3d camera, double aspect);

// A point seen at plane_mm on the reference plane stands really on the plane `height_mm` above it: where.
[[nodiscard]] cv::Point2d raised(cv::Point2d plane_mm, double height_mm, cv::Point3d camera);

}  // namespace frayhold::gauge
