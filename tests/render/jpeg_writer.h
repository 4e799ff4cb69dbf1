// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <opencv2/core/mat.hpp>
#include <optional>
#include <string>
#include <vector>

namespace frayhold::render {

// What to write beside the picture (Exif 2.3). Empty values are left out.
struct ExifToWrite {
    std::string make;
    std::string model;
    std::optional<double> focal_mm;
    std::optional<int> focal_35mm;
    std::string taken;                    // "2026:02:28 09:30:00"
    std::optional<double> latitude_deg;   // north positive; written only with longitude
    std::optional<double> longitude_deg;  // east positive
    std::string owner;                    // CameraOwnerName
    std::string artist;
    int orientation = 1;  // 1 to 8
};

// Encodes an upright picture (CV_8UC3, BGR) as baseline JPEG, 4:2:0. With an orientation other than 1 the
// raster is stored turned, so that a reader which applies the orientation sees the picture upright. Throws
// Failure (Fault::outside) where the encoder fails.
[[nodiscard]] std::vector<std::byte> encode_jpeg(const cv::Mat& bgr, int quality,
                                                 const ExifToWrite& exif = {});

}  // namespace frayhold::render
