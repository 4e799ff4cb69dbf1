// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>

namespace frayhold::photo {

// Turns a CV_8UC3 picture as stored upright. `orientation` is Exif's tag 0x0112 (CIPA DC-008, 4.6.4): where
// row 0 and column 0 of the stored picture belong; 1 is upright already. Orientations 1 to 4 reuse the given
// memory, 5 to 8 take a second frame while they run.
[[nodiscard]] cv::Mat upright_from_stored(cv::Mat stored, int orientation);

}  // namespace frayhold::photo
