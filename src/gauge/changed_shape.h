// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/types.hpp>
#include <vector>

#include "gauge/gauge.h"
#include "gauge/rope_change.h"

namespace frayhold::gauge {

// A stretch wider or narrower than the sound rope, as it is sighted.
struct SightedStretch {
    cv::Point2d left_mm;  // where its edges of sight meet the reference plane
    cv::Point2d right_mm;
    cv::Point3d camera;  // over that plane
    Level level = Level::bench;
    double sound_mm = 0.0;          // width of the rope beside it
    std::vector<EdgesMoved> moved;  // there, against the rope beside it; not empty
    double edge_u_mm = 0.0;         // of one edge
};

// What it is across its axis. A wider stretch is anything from swollen and round to flattened with the girth
// of its sheath kept, any aspect as likely, before it is asked where it stands: what is flattened lies lower,
// so that a slanting line of sight meets the bench nearer to below its middle, and that lies where the rope
// beside it leads. Straight from above nothing shows its height, and the width does not depend on it. A
// narrower stretch is taken for round.
struct ChangedShape {
    double aspect = 1.0;      // width over height, on the mean
    double width_u_mm = 0.0;  // what the width is uncertain by, for the aspect is
    // How far its edges stand out from where the rope beside it leads, less what its height accounts for.
    std::vector<EdgesMoved> moved;
};
[[nodiscard]] ChangedShape changed_shape(const SightedStretch& stretch);

// Between the two edges of sight of a stretch, or of a sound rope.
[[nodiscard]] double width_of_aspect_mm(cv::Point2d left_mm, cv::Point2d right_mm, cv::Point3d camera,
                                        Level level, double aspect);

}  // namespace frayhold::gauge
