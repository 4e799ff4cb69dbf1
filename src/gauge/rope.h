// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "gauge/card_fit.h"
#include "gauge/gauge.h"
#include "gauge/item_search.h"
#include "gauge/propagation.h"

namespace frayhold::gauge {

struct RopeFindings {
    std::vector<Reading> readings;
    std::optional<WidthProfile> profile;
    std::vector<std::string> remarks;
};

// Measures a rope that has been found: sound width, local width, fray.
[[nodiscard]] RopeFindings measure_rope(const cv::Mat& bgr, const ReducedPicture& reduced, const ViewFit& fit,
                                        const Propagation& propagation, const Track& track, Level level);

}  // namespace frayhold::gauge
