// SPDX-License-Identifier: Apache-2.0
#include "photo/orientation.h"

#include <algorithm>
#include <cstring>
#include <opencv2/core.hpp>

#include "photo/frame_memory.h"

namespace frayhold::photo {
namespace {

// Exchanges rows and columns, reading rows and columns of the source from either end. In square blocks, so
// that both sides of the copy stay in the cache: cv::transpose of three-byte pixels takes several times as
// long.
cv::Mat exchanged(const cv::Mat& source, bool rows_from_bottom, bool columns_from_right) {
    constexpr int block = 64;
    constexpr std::size_t pixel = 3;
    cv::Mat target = new_frame(source.cols, source.rows, CV_8UC3);
    const int bands = (target.rows + block - 1) / block;
    cv::parallel_for_(cv::Range(0, bands), [&](const cv::Range& range) {
        for (int band = range.start; band < range.end; ++band) {
            const int first_row = band * block;
            const int end_row = std::min(first_row + block, target.rows);
            for (int first_column = 0; first_column < target.cols; first_column += block) {
                const int end_column = std::min(first_column + block, target.cols);
                for (int row = first_row; row < end_row; ++row) {
                    const int source_column = columns_from_right ? source.cols - 1 - row : row;
                    const int source_row = rows_from_bottom ? source.rows - 1 - first_column : first_column;
                    const auto step = static_cast<std::ptrdiff_t>(source.step) * (rows_from_bottom ? -1 : 1);
                    const uchar* from = source.ptr(source_row, source_column);
                    uchar* to = target.ptr(row, first_column);
                    for (int column = first_column; column < end_column; ++column) {
                        std::memcpy(to, from, pixel);
                        to += pixel;
                        from += step;
                    }
                }
            }
        }
    });
    return target;
}

}  // namespace

cv::Mat upright_from_stored(cv::Mat stored, int orientation) {
    switch (orientation) {
        case 2:
            cv::flip(stored, stored, 1);
            return stored;
        case 3:
            cv::flip(stored, stored, -1);
            return stored;
        case 4:
            cv::flip(stored, stored, 0);
            return stored;
        case 5:
            return exchanged(stored, false, false);
        case 6:
            return exchanged(stored, true, false);
        case 7:
            return exchanged(stored, true, true);
        case 8:
            return exchanged(stored, false, true);
        default:
            return stored;
    }
}

}  // namespace frayhold::photo
