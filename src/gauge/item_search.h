// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <vector>

#include "gauge/card_search.h"
#include "gauge/gauge.h"
#include "gauge/view.h"

namespace frayhold::gauge {

// The item's centre line as first found, good to a millimetre or two.
struct Track {
    std::vector<cv::Point2d> centre_mm;  // on the bench, 3 mm apart, in order along the item
    double width_mm = 0.0;               // on the bench, uncorrected
    double contrast = 0.0;        // median of how far its look differs from the bench's on its weaker side
    bool runs_over_card = false;  // the line leads onto the card: item and card lie across each other
};

struct ItemSearchRequest {
    Subject subject = Subject::rope;
    std::optional<Millimetres> nominal;
};

// Finds the one dominant elongated item: a band whose inside differs from the bench on both sides, alike
// along its length, followed both ways from its best place round bends. Works on a reduced picture laid flat.
// Nothing on the card is taken for the item.
// Empty where nothing of the kind is seen.
[[nodiscard]] std::optional<Track> find_item(const ReducedPicture& reduced, const View& view,
                                             const ItemSearchRequest& request);

}  // namespace frayhold::gauge
