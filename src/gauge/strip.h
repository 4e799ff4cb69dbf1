// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

#include "gauge/centre_line.h"
#include "gauge/view.h"

namespace frayhold::gauge {

// The item unrolled: a straight picture of what lies along its centre line.
// Row r is station r of `line`; column c lies (c - middle) * mm_per_px across it, positive towards
// line.across(). Both on the bench plane, uncorrected for height.
struct Strip {
    cv::Mat bgr;      // CV_8UC3, sRGB
    cv::Mat seen;     // CV_8U: 1 where the picture has a pixel and the card does not lie, else 0
    CentreLine line;  // spacing = mm_per_px
    double mm_per_px = 0.0;
    int middle = 0;

    [[nodiscard]] double across_mm(double column) const { return (column - middle) * mm_per_px; }
    [[nodiscard]] double column_at(double across) const { return middle + across / mm_per_px; }
    [[nodiscard]] cv::Point2d bench_mm(double row, double across_mm) const;
};

// Samples `picture`, which stands for the full picture averaged over `factor` x `factor` pixels.
[[nodiscard]] Strip unroll(const cv::Mat& picture, int factor, const View& view, const CentreLine& line,
                           double half_width_mm);

}  // namespace frayhold::gauge
