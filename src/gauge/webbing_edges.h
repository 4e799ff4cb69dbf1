// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "gauge/item_search.h"
#include "gauge/sound_edges.h"
#include "gauge/strip.h"
#include "gauge/strip_edges.h"

namespace frayhold::gauge {

// Both edges of sight at one station: millimetres across the strip on the bench plane, left negative.
struct WebPair {
    std::size_t station = 0;
    double left_mm = 0.0;
    double right_mm = 0.0;
};

// The webbing unrolled from the full picture, with its edges.
struct WebEdges {
    Strip strip;
    StationLight light;
    std::vector<WebPair> pairs;  // every few stations where both edges are plain; outliers taken out
    SoundEdges sound;  // every station: the smooth line of the undamaged edge, carried past nick and fluff
    double blur_mm = 0.0;        // of the lens, at the webbing
    double hue_blur_mm = 0.0;    // of hue, which is stored coarser
    double edge_doubt_mm = 0.0;  // standard uncertainty of an edge's place where webbing and bench look alike
};

constexpr double web_fibre_room_mm = 14.0;  // unrolled to either side of the webbing
constexpr int web_pair_stride = 5;          // stations from one pair to the next
constexpr int web_pair_window = 10;         // stations to either side that share one placing

// Finds the edges in the reduced picture, unrolls the full one along the line half-way between them and
// places both edges by the limb model. Empty where too little of the webbing shows plain edges.
//   edge_width_px   10-90 % width of the card's edges: the blur that the webbing shares
[[nodiscard]] std::optional<WebEdges> find_web_edges(const cv::Mat& bgr, const ReducedPicture& reduced,
                                                     const View& view, const Track& track,
                                                     double edge_width_px);

// The line half-way between two edges that run `width_mm` apart, from either edge alone where the other is
// nicked or fluffed: at each station a quadratic through both edges' votes within +-reach entries, by Tukey's
// biweight. NaN where there are too few votes.
[[nodiscard]] std::vector<double> line_between(const std::vector<double>& left,
                                               const std::vector<double>& right, double width_mm, int reach);

}  // namespace frayhold::gauge
