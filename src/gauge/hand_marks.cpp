// SPDX-License-Identifier: Apache-2.0
#include "gauge/hand_marks.h"

#include <cmath>

#include "gauge/card_fit.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

double length_mm(const std::vector<cv::Point2d>& points) {
    double sum = 0.0;
    for (std::size_t i = 1; i < points.size(); ++i) sum += cv::norm(points[i] - points[i - 1]);
    return sum;
}

double area_mm2(const std::vector<cv::Point2d>& points) {
    double twice = 0.0;
    for (std::size_t i = 0; i < points.size(); ++i) twice += points[i].cross(points[(i + 1) % points.size()]);
    return std::abs(twice) / 2;
}

std::vector<cv::Point2d> on_plane(const View& view, const std::vector<cv::Point2d>& points_px,
                                  double height_mm) {
    std::vector<cv::Point2d> out;
    for (const cv::Point2d p : points_px) {
        const auto bench = view.bench_from_picture(p, height_mm);
        out.push_back(bench.value_or(cv::Point2d(std::nan(""), std::nan(""))));
    }
    return out;
}

}  // namespace

Result<Reading> measure_mark(const HandMark& mark, const ViewFit& fit, const Propagation& propagation,
                             Level level, Millimetres item_thickness) {
    const bool is_area = unit_of(mark.measurand) == UnitOf::square_millimetre;
    const std::string name(name_of(mark.measurand));
    if (!is_by_hand(mark.measurand))
        return failed(Fault::usage, name, "this is not measured by hand",
                      "draw a distance, an area or a glaze_length");
    if (mark.points_px.size() < (is_area ? 3U : 2U))
        return failed(Fault::usage, name,
                      is_area ? tr_later("an area needs three points or more")
                              : tr_later("a length needs two points or more"),
                      "give x,y for each point");
    const double half = item_thickness.value() / 2;
    const double middle = level == Level::bench ? half : 0.0;
    const auto value = [&](const View& view, double height, const std::vector<cv::Point2d>& points_px) {
        const auto points = on_plane(view, points_px, height);
        return is_area ? area_mm2(points) : length_mm(points);
    };
    if (!std::isfinite(value(fit.view, middle, mark.points_px)))
        return failed(Fault::input, name, "a point lies beyond the bench's horizon", "draw it on the item");

    double pick2 = 0.0;
    for (std::size_t i = 0; i < mark.points_px.size(); ++i)
        for (const cv::Point2d step : {cv::Point2d(corner_pick_u_px, 0), cv::Point2d(0, corner_pick_u_px)}) {
            auto there = mark.points_px, back = mark.points_px;
            there[i] += step;
            back[i] -= step;
            pick2 += std::pow((value(fit.view, middle, there) - value(fit.view, middle, back)) / 2, 2);
        }
    const double height_u = half / std::sqrt(3.0);
    const double by_height = std::abs(value(fit.view, middle + height_u, mark.points_px) -
                                      value(fit.view, middle - height_u, mark.points_px)) /
                             2;
    return propagation.reading(
        mark.measurand, [&](const View& view) { return value(view, middle, mark.points_px); },
        {{tr_later("the hand's pick"), std::sqrt(pick2)},
         {tr_later("height of the points on the item"), by_height}},
        mark.points_px);
}

}  // namespace frayhold::gauge
