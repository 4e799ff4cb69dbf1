// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/types.hpp>
#include <vector>

#include "gauge/evened_slopes.h"
#include "gauge/outline.h"

namespace frayhold::gauge {

// A side as far as it was seen: from its corner onward.
struct SeenSide {
    cv::Point2d corner, end;
    double seen_px = 0.0;
};

// A pin-hole camera, near enough to predict a side.
struct PinHole {
    double focal_px = 0.0;
    cv::Point2d centre_px;
};

// Three sides of a card, each seen in part, and where ISO/IEC 7810's proportions put the fourth: with the
// focal length known, three sides leave it no choice.
struct OpenOutline {
    std::array<cv::Point2d, 2> near;  // corners at the side between the two others
    std::array<cv::Point2d, 2> way;   // from there to the corners beyond
    double seen_px = 0.0;             // of the three
    double length_px = 0.0;           // of the three
};

// Adds what two sides and the side between them, of which so much was seen, may belong to: that being a
// card's long side or its short one.
void add_open_outlines(const std::array<SeenSide, 2>& sides, double between_seen_px, const PinHole& camera,
                       std::vector<OpenOutline>& open);

// Adds the outline with the fourth side where an edge shows near where it should be, pooled over its whole
// length: in up to three places, for a stripe printed along it may be the clearest.
void add_completed(const EvenedSlopes& slopes, const OpenOutline& open, std::vector<Outline>& outlines);

}  // namespace frayhold::gauge
