// SPDX-License-Identifier: Apache-2.0
#include "photo/orientation.h"

#include <algorithm>
#include <cstring>
#include <opencv2/core.hpp>

#include "photo/frame_memory.h"

namespace frayhold::photo {
namespace {

// How rows become columns: orientations 5 to 8.
struct Exchange {
    bool rows_from_bottom = false;
    bool columns_from_right = false;
};

bool exchanges(int orientation) {
    return orientation >= 5 && orientation <= 8;
}

Exchange exchange_of(int orientation) {
    return {orientation == 6 || orientation == 7, orientation == 7 || orientation == 8};
}

// Lays rows of the stored picture, from `first_row` of `all_rows` on, into the upright one as columns. In
// square blocks, so that both sides of the copy stay in the cache: cv::transpose of three-byte pixels takes
// several times as long.
void lay_as_columns(const cv::Mat& stored, int first_row, int all_rows, Exchange how, Processors processors,
                    cv::Mat& upright) {
    constexpr int block = 64;
    constexpr std::size_t pixel = 3;
    const int bands = (upright.rows + block - 1) / block;
    const auto lay = [&](const cv::Range& range) {
        for (int band = range.start; band < range.end; ++band) {
            const int begin = band * block, end = std::min(begin + block, upright.rows);
            for (int from_row = 0; from_row < stored.rows; from_row += block) {
                const int to_row = std::min(from_row + block, stored.rows);
                // The upright columns of these rows, from left to right.
                const int left = how.rows_from_bottom ? all_rows - first_row - to_row : first_row + from_row;
                const int source_row = how.rows_from_bottom ? to_row - 1 : from_row;
                const auto step = static_cast<std::ptrdiff_t>(stored.step) * (how.rows_from_bottom ? -1 : 1);
                for (int row = begin; row < end; ++row) {
                    const int source_column = how.columns_from_right ? stored.cols - 1 - row : row;
                    const uchar* from = stored.ptr(source_row, source_column);
                    uchar* to = upright.ptr(row, left);
                    for (int column = from_row; column < to_row; ++column) {
                        std::memcpy(to, from, pixel);
                        to += pixel;
                        from += step;
                    }
                }
            }
        }
    };
    if (processors == Processors::all)
        cv::parallel_for_(cv::Range(0, bands), lay);
    else
        lay(cv::Range(0, bands));
}

// Lays rows of the stored picture, from `first_row` on, into the upright one, mirrored: orientations 2 to 4.
void lay_mirrored(const cv::Mat& stored, int first_row, int orientation, cv::Mat& upright) {
    const bool top_down = orientation == 2;
    const int top = top_down ? first_row : upright.rows - first_row - stored.rows;
    cv::Mat to = upright.rowRange(top, top + stored.rows);
    constexpr int left_to_right = 1, upside_down = 0, both = -1;  // as cv::flip has them
    cv::flip(stored, to, top_down ? left_to_right : orientation == 3 ? both : upside_down);
}

}  // namespace

UprightFrame::UprightFrame(int rows, int columns, int orientation, Processors processors)
    : rows_(rows), columns_(columns), orientation_(orientation), processors_(processors) {
    upright_ = exchanges(orientation) ? new_frame(columns, rows, CV_8UC3) : new_frame(rows, columns, CV_8UC3);
    constexpr int band_rows = 64;  // little enough to stay in the cache
    if (orientation_ != 1) band_.create(std::min(rows, band_rows), columns, CV_8UC3);
}

std::span<std::byte> UprightFrame::next() {
    place_band();
    if (rows_in_ == rows_) return {};
    const std::size_t row_bytes = static_cast<std::size_t>(columns_) * 3;
    rows_given_ = band_.empty() ? rows_ : std::min(band_.rows, rows_ - rows_in_);
    uchar* to = band_.empty() ? upright_.data : band_.data;
    return std::as_writable_bytes(std::span(to, row_bytes * static_cast<std::size_t>(rows_given_)));
}

void UprightFrame::place_band() {
    if (!band_.empty() && rows_given_ > 0) {
        const cv::Mat rows = band_.rowRange(0, rows_given_);
        if (exchanges(orientation_))
            lay_as_columns(rows, rows_in_, rows_, exchange_of(orientation_), processors_, upright_);
        else
            lay_mirrored(rows, rows_in_, orientation_, upright_);
    }
    rows_in_ += rows_given_;
    rows_given_ = 0;
}

cv::Mat UprightFrame::take() {
    place_band();
    if (rows_in_ != rows_) return {};
    return std::move(upright_);
}

}  // namespace frayhold::photo
