// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <numbers>
#include <opencv2/core/types.hpp>
#include <vector>

// The printed reference card: one description used to draw it and to find it.
// Frame: millimetres from the card's top left corner, x right, y down.
namespace frayhold::gauge {

// ISO/IEC 7810:2019, 5, ID-1: nominal size and corner radius. Width and height each stay within about 0.15 %
// of nominal: a rectangle of that half-width (JCGM 100, 4.3.7).
inline constexpr double id1_width_mm = 85.60;
inline constexpr double id1_height_mm = 53.98;
inline constexpr double id1_corner_radius_mm = 3.18;
inline const cv::Point2d id1_middle_mm{id1_width_mm / 2, id1_height_mm / 2};
// Where its straight sides meet: top left, top right, bottom right, bottom left.
inline const std::array<cv::Point2d, 4> id1_corners_mm{
    cv::Point2d(0, 0), {id1_width_mm, 0}, {id1_width_mm, id1_height_mm}, {0, id1_height_mm}};
inline constexpr double id1_size_u_rel = 0.0015 / std::numbers::sqrt3;

// A filled rectangle of one grey (sRGB value 0 to 255) on the white card.
struct CardPatch {
    cv::Rect2d rect_mm;
    int grey = 0;
};

// A square fiducial of the open 4 x 4 dictionary with 50 words: 6 x 6 modules, black border included.
struct CardMarker {
    int id = 0;
    cv::Point2d top_left_mm;
};

inline constexpr double marker_side_mm = 14.0;
inline constexpr int marker_modules = 6;

// Top left, top right, bottom right, bottom left.
[[nodiscard]] std::array<CardMarker, 4> card_markers();

// Dark modules of one marker as rectangles on the card, merged along rows.
[[nodiscard]] std::vector<CardPatch> marker_patches(const CardMarker& marker);

// The dark frame just inside the cut: a ring of this outer inset and thickness.
inline constexpr double frame_inset_mm = 1.0;
inline constexpr double frame_thickness_mm = 0.8;

// Everything on the card but lettering: frame, markers, rule ticks, grey patches.
[[nodiscard]] std::vector<CardPatch> card_patches();

// A straight printed edge, for fitting. Light lies on the left hand of a walk from `from` to `to` as seen on
// the card (x right, y down), dark on the right. clearance_mm: how far off another printed edge is, at least.
struct CardEdge {
    cv::Point2d from_mm;
    cv::Point2d to_mm;
    double clearance_mm = 0.0;
    bool full_step = false;  // wide enough on both sides that light and dark reach their plateaus
};

// Outer and inner edges of frame and markers; ends kept clear of corners and ticks.
[[nodiscard]] std::vector<CardEdge> card_edges();

// Ticks every millimetre along the top edge, to be checked with a steel rule: the first, and how many
// millimetres.
inline constexpr double tick_start_mm = 22.80;
inline constexpr int tick_count_mm = 40;

// Left free for lettering: the hold number, and the card's own name.
inline const cv::Rect2d hold_number_area_mm{22.8, 9.0, 40.0, 14.0};
inline const cv::Rect2d name_area_mm{22.8, 41.0, 40.0, 8.0};

}  // namespace frayhold::gauge
