// SPDX-License-Identifier: Apache-2.0
#include "photo/levels.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <utility>

#include "photo/encode.h"

namespace frayhold::photo {

Levels::Levels(const cv::Mat& bgr) : levels_{bgr} {
    while (std::max(levels_.back().cols, levels_.back().rows) > tile_px) {
        const cv::Mat& last = levels_.back();
        cv::Mat half;
        cv::resize(last, half, {(last.cols + 1) / 2, (last.rows + 1) / 2}, 0, 0, cv::INTER_AREA);
        levels_.push_back(std::move(half));
    }
}

std::vector<std::byte> Levels::tile(int level, int column, int row) const {
    if (level < 0 || level >= count() || column < 0 || row < 0) return {};
    const cv::Mat& picture = levels_[static_cast<std::size_t>(level)];
    if (column > picture.cols / tile_px || row > picture.rows / tile_px) return {};
    const cv::Rect whole(0, 0, picture.cols, picture.rows);
    const cv::Rect piece = cv::Rect(column * tile_px, row * tile_px, tile_px, tile_px) & whole;
    if (piece.empty()) return {};
    constexpr int quality = 90;
    return encode_jpeg(picture(piece).clone(), quality);
}

}  // namespace frayhold::photo
