// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <opencv2/core/mat.hpp>
#include <span>

namespace frayhold::photo {

// Of the machine's, those that may work on a picture.
enum class Processors {
    one,  // where another process decodes the next rows meanwhile
    all,
};

// Turns a CV_8UC3 picture upright, whose stored rows come in one after the other: never two frames at once.
class UprightFrame {
  public:
    // rows, columns: of the stored picture. orientation: Exif's tag 0x0112 (CIPA DC-008, 4.6.4), where row 0
    // and column 0 of the stored picture belong; 1 is upright already.
    UprightFrame(int rows, int columns, int orientation, Processors processors = Processors::all);

    // Where the next stored rows belong, whole rows of 3 bytes a pixel; what was given before is filled by
    // then. Empty when no row is missing.
    [[nodiscard]] std::span<std::byte> next();
    // The upright picture, once all rows are in; else empty.
    [[nodiscard]] cv::Mat take();

  private:
    void place_band();

    int rows_;
    int columns_;
    int orientation_;
    Processors processors_;
    int rows_in_ = 0;     // placed
    int rows_given_ = 0;  // asked for since
    cv::Mat band_;        // of stored rows, where these are not upright already
    cv::Mat upright_;
};

}  // namespace frayhold::photo
