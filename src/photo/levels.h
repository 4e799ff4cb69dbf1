// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <opencv2/core/mat.hpp>
#include <vector>

namespace frayhold::photo {

// A picture in levels, for looking at a large one in pieces: level 0 is the picture itself, each further
// level half as wide and high (rounded up), the last one fits into one tile.
class Levels {
  public:
    static constexpr int tile_px = 512;

    // Shares the pixels of `bgr` (CV_8UC3), which must not change afterwards.
    explicit Levels(const cv::Mat& bgr);

    [[nodiscard]] int count() const { return static_cast<int>(levels_.size()); }
    [[nodiscard]] cv::Size size(int level) const {
        return levels_.at(static_cast<std::size_t>(level)).size();
    }

    // A piece of at most tile_px x tile_px as JPEG; empty where there is none.
    [[nodiscard]] std::vector<std::byte> tile(int level, int column, int row) const;

  private:
    std::vector<cv::Mat> levels_;
};

}  // namespace frayhold::photo
