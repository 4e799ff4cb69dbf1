// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/types.hpp>
#include <vector>

#include "gauge/evened_slopes.h"

namespace frayhold::gauge {

struct StraightRun {
    StraightRun(cv::Point2d a, cv::Point2d b, double seen)
        : from(a), to(b), length(cv::norm(b - a)), along((b - a) / length), seen_px(seen) {}

    cv::Point2d from, to;
    double length;
    cv::Point2d along;
    double seen_px;  // length on which edge is seen: less than `length` where it is broken
};

// Straight runs of edge, longest first: single ones, and what lies on one line joined, in every step of
// joining.
[[nodiscard]] std::vector<StraightRun> find_straight_runs(const EvenedSlopes& slopes);

}  // namespace frayhold::gauge
