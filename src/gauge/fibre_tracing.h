// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

#include "gauge/line_evidence.h"

namespace frayhold::gauge {

// Follows single fibres outward from the item, though each may be fainter than the bench's own texture.
//
// Track before detect (Barniv 1985; Viterbi 1967): no place is judged alone. A path starts at the item and
// goes outward column by column, at one of eleven slopes, the slope changing by one at most from column to
// column as a fibre bends. It gains the line evidence at its place and slope less a toll, times the length
// stepped; of all paths to a place the one with most gain is kept. The evidence of a place counts as nothing
// at least and as twice the toll at most: where a fibre crosses another, or runs through a shadow, its own
// evidence says nothing, and one bright crumb of the bench is no fibre. A path is dropped once it has lost
// more than a gap's worth from its best; a fibre is a path whose gain passes that of a plain length
// (least_gain_mm), and that ends before the farthest place looked at: what runs on past that is a line of the
// bench. Its tip lies where half its own evidence is left.
class FibreTracing {
  public:
    // The plain length: a path must gain what a line of twice the toll gains over it.
    static constexpr double least_gain_mm = 1.6;

    // evidence: of a strip whose item was painted over; must outlive this.
    FibreTracing(const LineEvidence& evidence, double mm_per_px)
        : evidence_(evidence), mm_per_px_(mm_per_px) {}

    struct Followed {
        std::vector<int> column;  // the outermost that a fibre reaches in each row
        std::vector<double>
            plainness;  // of each fibre long enough to tell: its evidence as a multiple of the toll
    };
    // roots: CV_8U, one row a row of the strip: where fibres may start (the item, and the mass of fibres).
    // first_column: of the item's edge, one a row; where no fibre reaches farther, that is given. side: -1
    // left, +1 right. toll: in standard deviations. rows: the part to look at.
    [[nodiscard]] Followed outermost(const cv::Mat& roots, const std::vector<int>& first_column, int side,
                                     double toll, cv::Range rows) const;

  private:
    const LineEvidence& evidence_;
    double mm_per_px_;
};

}  // namespace frayhold::gauge
