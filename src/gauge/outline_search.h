// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "gauge/card_search.h"
#include "gauge/evened_slopes.h"
#include "gauge/outline.h"
#include "gauge/straight_runs.h"
#include "gauge/view_fitter.h"

namespace frayhold::gauge {

// Looks for anything with four straight sides on the reduced picture, whatever its colour or print: edges
// that stand out from the bench in any mix of colours, straight runs of them, and rounds of runs. Runs need
// not reach the corners, which may be round, and may be broken. Outlines come best supported first, corners
// in pixels of the full picture, near doubles left out.
class OutlineSearch {
  public:
    explicit OutlineSearch(const ReducedPicture& reduced);

    // Closed rounds of four runs.
    [[nodiscard]] std::vector<Outline> closed() const;
    // Rounds of three runs, with the fourth side where a card of ID-1's proportions has it. Slower, and finds
    // more that is none.
    [[nodiscard]] std::vector<Outline> completed(const CameraPrior& prior) const;

    // One end of a run: 2 x run for its `from`, + 1 for its `to`.
    using End = std::size_t;
    struct Corner {
        End other;
        cv::Point2d at;
    };
    using CornersByEnd = std::vector<std::vector<Corner>>;

  private:
    ReducedPicture reduced_;
    EvenedSlopes slopes_;
    std::vector<StraightRun> runs_;
    CornersByEnd met_;
};

}  // namespace frayhold::gauge
