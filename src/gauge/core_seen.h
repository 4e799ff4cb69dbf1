// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "gauge/reading.h"
#include "gauge/rope_strip.h"

// Whether the core shows through the sheath, by colour.
//
// Model: the sheath, its tracer yarns and its shading recur all along the rope; what is seen in one place
// only, and looks like undyed fibre in the same light, is core. A pixel is core beyond doubt when it is
//   - foreign: its colour differs by CIEDE2000 from every recurring one (SheathColours::foreign_from);
//   - pale: nearer to white than to the sheath, and with hardly any colour; pale, fluffed sheath fibres lie
//     between the two, nearer to the sheath;
//   - in a solid patch, as thick as a bundle and larger than the patches that pale tracers make.
// From there it is drawn out to half-way between sheath and core, and kept if it is large, solid (loose
// fibres leave gaps), sharply bounded and without the sheath's own colour (the sheen of a glazed length only
// adds white to it), and if it does not go on beyond the rope's edge as the bench. Fails with: a white or
// near-white sheath (it says that it can't tell), a dyed core or one too soiled to look white (not seen),
// white paint or tape on the sheath, a bright narrow sheen on a black or grey one (taken for core). What is
// pale, solid and thicker than the tracers in one place only, and yet does not pass, it names as doubtful.
// Never proof that no core shows: look and feel.
namespace frayhold::gauge {

struct CoreSeen {
    enum class Verdict { found, none_found, cannot_tell };

    Verdict verdict = Verdict::cannot_tell;
    std::string remark;  // for the person; empty where core is found
    // Of the rows from the first up to but without the last, where the remark speaks of one place.
    std::optional<std::pair<int, int>> remark_rows;
    // The sheath has no colour of its own: its loose fibres, lit from all sides, may look like core.
    bool grey_sheath = false;
    cv::Mat mask;  // CV_8U of the strip's size, 255 where core; empty unless found
    std::vector<std::vector<cv::Point2d>> outlines;  // of each region, in strip columns and rows
    // Where the bench beside the rope's edge is as pale as core: the least and the most of it that may be
    // core. Both empty where the bench is of another colour.
    std::vector<std::vector<cv::Point2d>> least_outlines, most_outlines;
    double area_mm2 = 0.0;
    double length_mm = 0.0;  // along the rope, from the first row with core to the last
    // The doubt of the picture alone, each line in mm2 or mm; the view's own comes on top.
    std::vector<BudgetLine> area_budget;
    std::vector<BudgetLine> length_budget;
};

[[nodiscard]] CoreSeen find_core(const RopeStrip& strip);

}  // namespace frayhold::gauge
