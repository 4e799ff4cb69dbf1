// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/types.hpp>

namespace frayhold::gauge {

// A nick as a triangle: its mouth lies along the edge, its two sides meet at a point.
struct Cut {
    double length_mm = 0.0;  // of the mouth
    double depth_mm = 0.0;   // of the point, from the edge
    double point_mm = 0.0;   // along the edge, from the mouth's beginning to beside the point
};

// What a nick is that looks like `seen` on the plane half-way up the webbing. Its sides stand as high as the
// webbing is thick; seen aslant, one shows its face down to the foot and the other hides the bench from its
// top on, so that the nick looks narrower than it is, and therefore less deep. They are taken to be as round
// across the webbing as its selvedge: half an ellipse, touched by the line of sight as the selvedge is (see
// webbing.h).
//   slant   of the line of sight: how far it runs along the webbing (x, from the mouth's beginning to its
//           end) and inward (y), for each millimetre of height
[[nodiscard]] Cut cut_seen_aslant(const Cut& seen, const cv::Point2d& slant, double thickness_mm);

}  // namespace frayhold::gauge
