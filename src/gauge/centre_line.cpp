// SPDX-License-Identifier: Apache-2.0
#include "gauge/centre_line.h"

#include <algorithm>
#include <cmath>

namespace frayhold::gauge {
namespace {

std::vector<cv::Point2d> resampled(const std::vector<cv::Point2d>& points, double spacing) {
    std::vector<cv::Point2d> out{points.front()};
    double due = spacing;  // distance still to go to the next station
    for (std::size_t i = 1; i < points.size(); ++i) {
        const double length = cv::norm(points[i] - points[i - 1]);
        double done = 0.0;
        while (length - done >= due) {
            done += due;
            out.push_back(points[i - 1] + (points[i] - points[i - 1]) * (done / length));
            due = spacing;
        }
        due -= length - done;
    }
    return out;
}

}  // namespace

CentreLine centre_line(const std::vector<cv::Point2d>& points_mm, double smoothing_mm, double spacing_mm) {
    constexpr double fine_mm = 1.0;
    const auto fine = resampled(points_mm, fine_mm);
    const int last = static_cast<int>(fine.size()) - 1;
    const int reach = std::max(1, static_cast<int>(3 * smoothing_mm / fine_mm));
    // Beyond an end, the line is mirrored through that end, which continues it straight.
    const auto continued = [&](int i) {
        if (i < 0) return 2 * fine.front() - fine[static_cast<std::size_t>(std::min(-i, last))];
        if (i > last) return 2 * fine.back() - fine[static_cast<std::size_t>(std::max(2 * last - i, 0))];
        return fine[static_cast<std::size_t>(i)];
    };
    std::vector<double> weights;
    for (int k = -reach; k <= reach; ++k)
        weights.push_back(smoothing_mm > 0 ? std::exp(-0.5 * std::pow(k * fine_mm / smoothing_mm, 2))
                                           : double(k == 0));
    std::vector<cv::Point2d> smooth;
    smooth.reserve(fine.size());
    for (int i = 0; i <= last; ++i) {
        cv::Point2d sum(0, 0);
        double total = 0.0;
        for (int k = -reach; k <= reach; ++k) {
            const double w = weights[static_cast<std::size_t>(k + reach)];
            sum += continued(i + k) * w;
            total += w;
        }
        smooth.push_back(sum / total);
    }
    CentreLine line;
    line.spacing_mm = spacing_mm;
    line.at_mm = resampled(smooth, spacing_mm);
    for (std::size_t i = 0; i < line.size(); ++i) {
        const std::size_t from = i == 0 ? 0 : i - 1, to = std::min(i + 1, line.size() - 1);
        const cv::Point2d step = line.at_mm[to] - line.at_mm[from];
        line.along.push_back(to > from ? step / cv::norm(step) : cv::Point2d(1, 0));
    }
    return line;
}

}  // namespace frayhold::gauge
