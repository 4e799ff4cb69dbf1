// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_design.h"

#include <opencv2/aruco/dictionary.hpp>

namespace frayhold::gauge {
namespace {

constexpr double marker_inset_mm = 4.6;
constexpr int ink = 0;

// Dark modules as a 6 x 6 picture, 0 for dark.
cv::Mat marker_module_picture(const CardMarker& marker) {
    cv::Mat modules;
    cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_50)
        ->drawMarker(marker.id, marker_modules, modules, 1);
    return modules;
}

// The edge from a to b with its ends drawn in by `clear` on both sides.
CardEdge drawn_in(cv::Point2d a, cv::Point2d b, double clear_mm, double clearance_mm, bool full_step) {
    const cv::Point2d along = (b - a) / cv::norm(b - a);
    return {a + along * clear_mm, b - along * clear_mm, clearance_mm, full_step};
}

// A closed dark rectangle, walked so that light lies on the left.
void add_dark_rectangle(std::vector<CardEdge>& edges, const cv::Rect2d& r, double clear_mm,
                        double clearance_mm, bool full_step) {
    const cv::Point2d tl(r.x, r.y), tr(r.x + r.width, r.y), br(r.x + r.width, r.y + r.height),
        bl(r.x, r.y + r.height);
    edges.push_back(drawn_in(tl, tr, clear_mm, clearance_mm, full_step));
    edges.push_back(drawn_in(tr, br, clear_mm, clearance_mm, full_step));
    edges.push_back(drawn_in(br, bl, clear_mm, clearance_mm, full_step));
    edges.push_back(drawn_in(bl, tl, clear_mm, clearance_mm, full_step));
}

// The borders between dark and light modules inside a marker, merged to straight runs.
void add_module_edges(std::vector<CardEdge>& edges, const CardMarker& marker) {
    const cv::Mat modules = marker_module_picture(marker);
    const double module_mm = marker_side_mm / marker_modules;
    constexpr double clear_mm = 0.5;
    const auto dark = [&](int row, int col) { return modules.at<uchar>(row, col) == 0; };
    const auto corner = [&](int row, int col) {
        return marker.top_left_mm + cv::Point2d(col * module_mm, row * module_mm);
    };
    for (int border = 1; border < marker_modules; ++border) {
        // kind +1: light first (above, or to the left); -1: dark first; 0: no edge here.
        const auto kind_of_row = [&](int col) { return int(dark(border, col)) - int(dark(border - 1, col)); };
        const auto kind_of_col = [&](int row) { return int(dark(row, border)) - int(dark(row, border - 1)); };
        for (int from = 0; from < marker_modules;) {
            int to = from + 1;
            while (to < marker_modules && kind_of_row(to) == kind_of_row(from)) ++to;
            if (kind_of_row(from) > 0)
                edges.push_back(
                    drawn_in(corner(border, from), corner(border, to), clear_mm, module_mm, false));
            if (kind_of_row(from) < 0)
                edges.push_back(
                    drawn_in(corner(border, to), corner(border, from), clear_mm, module_mm, false));
            from = to;
        }
        for (int from = 0; from < marker_modules;) {
            int to = from + 1;
            while (to < marker_modules && kind_of_col(to) == kind_of_col(from)) ++to;
            if (kind_of_col(from) > 0)
                edges.push_back(
                    drawn_in(corner(to, border), corner(from, border), clear_mm, module_mm, false));
            if (kind_of_col(from) < 0)
                edges.push_back(
                    drawn_in(corner(from, border), corner(to, border), clear_mm, module_mm, false));
            from = to;
        }
    }
}

}  // namespace

std::array<CardMarker, 4> card_markers() {
    const double left = marker_inset_mm;
    const double right = id1_width_mm - marker_inset_mm - marker_side_mm;
    const double top = marker_inset_mm;
    const double bottom = id1_height_mm - marker_inset_mm - marker_side_mm;
    return {CardMarker{11, {left, top}}, CardMarker{23, {right, top}}, CardMarker{31, {right, bottom}},
            CardMarker{43, {left, bottom}}};
}

std::vector<CardPatch> marker_patches(const CardMarker& marker) {
    const cv::Mat modules = marker_module_picture(marker);
    const double module_mm = marker_side_mm / marker_modules;
    std::vector<CardPatch> patches;
    for (int row = 0; row < marker_modules; ++row) {
        int from = 0;
        while (from < marker_modules) {
            if (modules.at<uchar>(row, from) != 0) {
                ++from;
                continue;
            }
            int to = from;
            while (to < marker_modules && modules.at<uchar>(row, to) == 0) ++to;
            patches.push_back(
                {cv::Rect2d(marker.top_left_mm.x + from * module_mm, marker.top_left_mm.y + row * module_mm,
                            (to - from) * module_mm, module_mm),
                 ink});
            from = to;
        }
    }
    return patches;
}

std::vector<CardPatch> card_patches() {
    const double w = id1_width_mm - 2 * frame_inset_mm;
    const double h = id1_height_mm - 2 * frame_inset_mm;
    const double t = frame_thickness_mm;
    std::vector<CardPatch> patches{
        {{frame_inset_mm, frame_inset_mm, w, t}, ink},
        {{frame_inset_mm, id1_height_mm - frame_inset_mm - t, w, t}, ink},
        {{frame_inset_mm, frame_inset_mm, t, h}, ink},
        {{id1_width_mm - frame_inset_mm - t, frame_inset_mm, t, h}, ink},
    };
    for (const CardMarker& marker : card_markers()) {
        const auto dark = marker_patches(marker);
        patches.insert(patches.end(), dark.begin(), dark.end());
    }
    constexpr double tick_width_mm = 0.2;
    for (int mm = 0; mm <= tick_count_mm; ++mm) {
        const double length = mm % 10 == 0 ? 3.6 : mm % 5 == 0 ? 2.6 : 1.6;
        patches.push_back(
            {{tick_start_mm + mm - tick_width_mm / 2, frame_inset_mm + t, tick_width_mm, length}, ink});
    }
    // Steps of grey from dark to light, for exposure and white balance.
    constexpr std::array<int, 5> greys{40, 90, 140, 190, 225};
    for (std::size_t i = 0; i < greys.size(); ++i)
        patches.push_back({{22.8 + 8.0 * static_cast<double>(i), 28.0, 8.0, 8.0}, greys[i]});
    return patches;
}

std::vector<CardEdge> card_edges() {
    std::vector<CardEdge> edges;
    const double module_mm = marker_side_mm / marker_modules;
    for (const CardMarker& marker : card_markers()) {
        add_dark_rectangle(edges,
                           {marker.top_left_mm.x, marker.top_left_mm.y, marker_side_mm, marker_side_mm}, 0.5,
                           module_mm, true);
        add_module_edges(edges, marker);
    }
    constexpr double clear_mm = 2.0;
    add_dark_rectangle(edges,
                       {frame_inset_mm, frame_inset_mm, id1_width_mm - 2 * frame_inset_mm,
                        id1_height_mm - 2 * frame_inset_mm},
                       clear_mm, frame_thickness_mm, false);
    // The inner edge bounds a light rectangle, so it is walked the other way; its top is interrupted by the
    // ticks.
    const double inset = frame_inset_mm + frame_thickness_mm;
    const cv::Point2d tl(inset, inset), tr(id1_width_mm - inset, inset),
        br(id1_width_mm - inset, id1_height_mm - inset), bl(inset, id1_height_mm - inset);
    edges.push_back(drawn_in(tl, bl, clear_mm, frame_thickness_mm, false));
    edges.push_back(drawn_in(bl, br, clear_mm, frame_thickness_mm, false));
    edges.push_back(drawn_in(br, tr, clear_mm, frame_thickness_mm, false));
    edges.push_back(drawn_in({tick_start_mm, inset}, tl, clear_mm, frame_thickness_mm, false));
    edges.push_back(
        drawn_in(tr, {tick_start_mm + tick_count_mm, inset}, clear_mm, frame_thickness_mm, false));
    return edges;
}

}  // namespace frayhold::gauge
