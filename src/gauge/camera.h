// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/types.hpp>
#include <optional>
#include <string>

namespace frayhold::gauge {

// Radial distortion of the pin-hole model (Brown 1971; the convention of OpenCV's calib3d): with normalised
// image radius r, x_distorted = x (1 + k1 r^2 + k2 r^4).
struct Lens {
    double k1 = 0.0;
    double k2 = 0.0;
};

// What is known of the camera that took the photo. Pixels of the upright picture.
struct Camera {
    std::optional<double> focal_px;
    double focal_u_rel = 0.0;              // relative standard uncertainty of focal_px
    std::optional<cv::Point2d> centre_px;  // principal point; the picture's centre where empty
    std::optional<Lens> lens;              // from a calibrated profile only
    std::string source;  // "profile: NAME", "EXIF 35 mm equivalent", "given", "" where unknown
};

}  // namespace frayhold::gauge
