// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <string>
#include <vector>

#include "gauge/reading.h"

// Whether the core shows through the sheath, by colour.
//
// Model: the sheath, its tracer yarns and its shading recur all along the rope; what is seen in one place
// only, and looks like undyed fibre in the same light, is core. Each station is first brought to one
// lightness by the running median along the rope. Colours are compared by CIEDE2000 with kL = 2, as is usual
// for textiles, whose relief changes lightness more than hue. A colour is foreign where it differs from every
// recurring colour by more than 1.5 times what the undamaged rope itself shows in all but 1 % of its pixels,
// and by at least 6: beyond 'the same' for any eye. Foreign colour becomes core only if it is
//   - nearer to white than to the sheath: pale, fluffed sheath fibres lie between the two, nearer to the
//   sheath;
//   - solid, with no gaps but the grooves between bundles: loose fibres leave gaps;
//   - sharply bounded: the sheen of a glazed length fades out.
// Fails with: a white or near-white sheath (then it says that it can't tell), a dyed core, paint or tape on
// the sheath (taken for core), a core too soiled to look white (not seen). Never proof that no core shows:
// look and feel.
namespace frayhold::gauge {

// A straight picture of the rope: each row is a station along it, columns lie across. The lists have one
// entry a row.
struct RopeStrip {
    cv::Mat bgr;   // CV_8UC3, sRGB
    cv::Mat seen;  // CV_8U, 0 where the pixel shows something else (the card); may be empty: all seen
    double mm_per_px = 0.0;    // at the rope's upper side, along and across
    std::vector<double> left;  // columns of the dense edges; NaN where there is none
    std::vector<double> right;
    std::vector<bool> damaged;  // where core is looked for; the rest is taken as undamaged. Empty: all of it,
                                // and the sheath is told by what recurs alone
    double white = 0.8;  // linear light of white paper in the same light, 0 to 1
};

struct CoreSeen {
    enum class Verdict { found, none_found, cannot_tell };

    Verdict verdict = Verdict::cannot_tell;
    std::string remark;  // for the person; empty where core is found
    cv::Mat mask;        // CV_8U of the strip's size, 255 where core; empty unless found
    std::vector<std::vector<cv::Point2d>> outlines;  // of each region, in strip columns and rows
    double area_mm2 = 0.0;
    double length_mm = 0.0;  // along the rope, from the first row with core to the last
    // The doubt of the picture alone, each line in mm2 or mm; the view's own comes on top.
    std::vector<BudgetLine> area_budget;
    std::vector<BudgetLine> length_budget;
};

[[nodiscard]] CoreSeen find_core(const RopeStrip& strip);

}  // namespace frayhold::gauge
