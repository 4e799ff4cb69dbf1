// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <optional>
#include <vector>

#include "gauge/limb_fit.h"
#include "gauge/webbing_borders.h"
#include "gauge/webbing_edges.h"

// Where an edge of webbing lies, once it is known which border it is.
namespace frayhold::gauge {

struct PlacedEdge {
    std::vector<double> at_mm;  // across the strip, NaN where it is not plain
    double doubt_mm = 0.0;      // standard uncertainty of where all windows together have it
    bool by_hue = false;
    bool by_fall = false;
    std::optional<cv::Vec3d> web_hue;  // where the edge was by hue
    bool hue_sure = false;             // it was looked at beside the edge
    // The webbing may go on beyond: what was placed is the border of another hue than most of the webbing is
    // of, and the bench's hue is so much like that one that it does not tell.
    bool at_stripe = false;
    std::optional<double> beyond_stripe_mm;  // how far outside such a border the edge was placed
};

struct KnownHues {
    cv::Vec3d plain_hue;                     // of most of the webbing
    std::optional<cv::Vec3d> web_hue;        // beside this edge, or of the stripe within it
    std::optional<double> beyond_stripe_mm;  // how far outside a stripe this edge is looked for
};

// The hue of most columns between the borders.
[[nodiscard]] cv::Vec3d plain_hue(const WebEdges& web, const WebBorders& borders);

// Places one side's edge about where it is expected: of `web` the strip, its light and its blurs are looked
// at.
//   expected_mm   across the strip, one entry a station
//   side          -1 for the left edge, 1 for the right
//   reach_mm      how far from there it is looked for
[[nodiscard]] PlacedEdge place_web_edge(const WebEdges& web, const LimbFit& fit,
                                        const std::vector<double>& expected_mm, double side, double reach_mm,
                                        const KnownHues& known);

}  // namespace frayhold::gauge
