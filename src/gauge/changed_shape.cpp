// SPDX-License-Identifier: Apache-2.0
#include "gauge/changed_shape.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/core.hpp>
#include <utility>

#include "gauge/round_item.h"

namespace frayhold::gauge {
namespace {

SightedEllipse sighted(cv::Point2d left_mm, cv::Point2d right_mm, cv::Point3d camera, Level level,
                       double aspect) {
    return level == Level::bench ? ellipse_on_plane_mm(left_mm, right_mm, camera, aspect)
                                 : ellipse_about_plane_mm(left_mm, right_mm, camera, aspect);
}

// Of an ellipse (Ramanujan 1914).
double girth_mm(double width_mm, double height_mm) {
    const double a = width_mm / 2, b = height_mm / 2, h = std::pow((a - b) / (a + b), 2);
    return std::numbers::pi * (a + b) * (1 + 3 * h / (10 + std::sqrt(4 - 3 * h)));
}

// The aspect at which the stretch has the sound rope's girth; 1 where it has no more when round.
double flattest(const SightedStretch& stretch) {
    constexpr double most = 3.0;  // a third as high as wide: nothing of the core is left between the sheaths
    const auto too_long = [&](double aspect) {
        const double width =
            width_of_aspect_mm(stretch.left_mm, stretch.right_mm, stretch.camera, stretch.level, aspect);
        return girth_mm(width, width / aspect) > std::numbers::pi * stretch.sound_mm;
    };
    double low = 1.0, high = most;
    if (!too_long(low)) return low;
    constexpr int halvings = 20;
    for (int i = 0; i < halvings; ++i) {
        const double middle = (low + high) / 2;
        (too_long(middle) ? low : high) = middle;
    }
    return high;
}

// How far right of where the rope beside it leads the stretch's foot stands, by each course of that rope.
std::vector<double> foot_off_course(const SightedStretch& stretch, double aspect) {
    const cv::Point2d across =
        (stretch.right_mm - stretch.left_mm) / cv::norm(stretch.right_mm - stretch.left_mm);
    const double foot =
        sighted(stretch.left_mm, stretch.right_mm, stretch.camera, stretch.level, aspect).foot_mm;
    std::vector<double> off;
    for (const EdgesMoved& m : stretch.moved) {
        const double sound_foot =
            sighted(stretch.left_mm + across * m.left_mm, stretch.right_mm - across * m.right_mm,
                    stretch.camera, stretch.level, 1.0)
                .foot_mm;
        off.push_back(foot - m.left_mm - sound_foot);
    }
    return off;
}

}  // namespace

double width_of_aspect_mm(cv::Point2d left_mm, cv::Point2d right_mm, cv::Point3d camera, Level level,
                          double aspect) {
    return sighted(left_mm, right_mm, camera, level, aspect).width_mm;
}

ChangedShape changed_shape(const SightedStretch& stretch) {
    // A damaged stretch need not lie quite in line with the rope beside it: one standard deviation, and one
    // in twenty lies anyhow; common practice, no source.
    constexpr double laid_u_mm = 0.2, laid_anyhow = 0.05;
    constexpr double range_of_three = 1.693;  // in standard deviations, on the mean (Tippett 1925)
    constexpr int steps = 40;
    const double end = flattest(stretch);
    const auto middle_off = [&](double aspect) {
        const auto off = foot_off_course(stretch, aspect);
        const auto [least, most] = std::minmax_element(off.begin(), off.end());
        return std::pair((*least + *most) / 2, *most - *least);
    };
    const auto [first_off, range] = middle_off(1.0);
    const double u = std::hypot(range / range_of_three, laid_u_mm, stretch.edge_u_mm / std::numbers::sqrt2);
    const double curve = u * std::sqrt(2 * std::numbers::pi);  // under the normal density of height 1
    const double span = std::abs(middle_off(end).first - first_off) + curve;
    double weights = 0.0, aspects = 0.0;
    std::vector<double> aspect_of, weight_of;
    for (int i = 0; i <= steps; ++i) {
        const double aspect = 1 + (end - 1) * i / steps, off = middle_off(aspect).first / u;
        const double weight = (1 - laid_anyhow) * std::exp(-off * off / 2) + laid_anyhow * curve / span;
        aspect_of.push_back(aspect);
        weight_of.push_back(weight);
        weights += weight;
        aspects += weight * aspect;
    }
    const auto width = [&](double aspect) {
        return width_of_aspect_mm(stretch.left_mm, stretch.right_mm, stretch.camera, stretch.level, aspect);
    };
    ChangedShape shape;
    shape.aspect = aspects / weights;
    double square = 0.0;
    for (std::size_t i = 0; i < aspect_of.size(); ++i)
        square += weight_of[i] / weights * std::pow(width(aspect_of[i]) - width(shape.aspect), 2);
    shape.width_u_mm = std::sqrt(square);
    const auto off = foot_off_course(stretch, shape.aspect);
    for (std::size_t k = 0; k < off.size(); ++k) {
        const double each = (stretch.moved[k].left_mm + stretch.moved[k].right_mm) / 2;
        shape.moved.push_back({each - off[k], each + off[k]});
    }
    return shape;
}

}  // namespace frayhold::gauge
