// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "gauge/card_fit.h"
#include "gauge/gauge.h"
#include "gauge/item_search.h"
#include "gauge/propagation.h"

namespace frayhold::gauge {

struct WebbingFindings {
    std::vector<Reading> readings;
    std::optional<WidthProfile> profile;
    std::vector<std::string> remarks;
};

// Measures flat webbing that has been found: its width, a nick in an edge, fluffed edge, stitch rows across
// it.
//
// Width. Woven webbing has a rounded selvedge. Taken as half a cylinder of the webbing's thickness t, it is
// touched by a line of sight t/2 outside the cylinder's axis, which lies t/2 above the bench; seen at an
// angle a from straight above, that line meets the plane of the axis t / (2 cos a) outside it. So with W the
// distance between both lines of sight on that plane, width = W + t - t / (2 cos a_left) - t / (2 cos
// a_right). t is not known: 1.5 to 3 mm.
//
// Counts. A row or gap that is plain counts 1 with no doubt; one that is only likelier than not counts 1 with
// a standard uncertainty of a half (Bernoulli at even odds). Doubtful ones are independent.
//
// No reading of a nick, fluff or stitching means none was seen. Where it could not have been seen, a remark
// says so.
[[nodiscard]] WebbingFindings measure_webbing(const cv::Mat& bgr, const ReducedPicture& reduced,
                                              const ViewFit& fit, const Propagation& propagation,
                                              const Track& track, Level level);

}  // namespace frayhold::gauge
