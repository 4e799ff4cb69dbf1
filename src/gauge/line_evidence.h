// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <memory>
#include <mutex>
#include <opencv2/core/mat.hpp>
#include <vector>

namespace frayhold::gauge {

// How plainly a short thin line runs through each place of a strip, for each of eleven slopes.
//
// Evidence is how far the mean along a line stands above that of the lines to both its sides, in units of its
// scatter on the bare bench for that slope: along the grain of wood the scatter is large and counts for
// little. It is worked out where it is asked for, a band of columns at a time: beside most items nothing
// leads far out.
class LineEvidence {
  public:
    // Rows a column, as tangents of 0, 15, 30, 45, 60 and 72 degrees to either side.
    static constexpr std::array<double, 11> slopes{-3.08, -1.73, -1.0, -0.577, -0.268, 0.0,
                                                   0.268, 0.577, 1.0,  1.73,   3.08};
    static constexpr int slope_count = static_cast<int>(slopes.size());
    static constexpr double line_mm = 1.3;  // how long a line is looked at, half of it to either side

    // signal: CV_32F, one row a row of the strip; larger where more like a line. calm: CV_8U, as signal, 1
    // where the bench is bare.
    LineEvidence(const cv::Mat& signal, const cv::Mat& calm, double mm_per_px);

    // Of the strip's rows, at one of its columns. Safe to ask for from several threads.
    [[nodiscard]] const float* at_column(int column, int slope) const;
    [[nodiscard]] int columns() const { return bare_.rows; }

    // Scatter of the signal along a line on the bare bench, over all slopes.
    [[nodiscard]] double scatter() const { return scatter_; }
    // What a line of unit signal times pixels across, blurred by blur_px, adds to the mean, in units of
    // signal.
    [[nodiscard]] static double response(double blur_px);

  private:
    struct Band {
        std::once_flag made;
        cv::Mat values;  // CV_32F: for each slope, a row a column of the strip
    };

    [[nodiscard]] int first_column(std::size_t band) const;
    [[nodiscard]] int columns_of(std::size_t band) const;
    [[nodiscard]] cv::Mat ridges(std::size_t band) const;
    void judge(cv::Mat& values, std::size_t band) const;

    cv::Mat padded_;  // the signal transposed, smoothed, with a border of pad_ all round
    cv::Mat bare_;    // calm transposed
    int pad_ = 0;
    double line_px_ = 0.0;
    std::array<double, slopes.size()> scatters_{};
    double scatter_ = 1.0;
    std::unique_ptr<Band[]> bands_;
};

}  // namespace frayhold::gauge
