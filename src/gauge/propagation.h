// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <vector>

#include "gauge/card_fit.h"
#include "gauge/reading.h"
#include "language/later.h"

namespace frayhold::gauge {

// Carries the doubt of the view into readings (JCGM 100:2008, 5.1 and 5.2; JCGM 102 for several inputs).
//
// A reading is a smooth function of the view: what was found in the picture, in pixels, is held fixed and
// turned into millimetres by whatever view is given. With gradient g over the view's parameters and their
// covariance C, the variance is g' C g. With C = L L' (Cholesky, in the parameters' own order) it splits
// exactly into |L' g|^2 term by term: the first is the focal length's share, the second what the lens adds
// once the focal length is known, the rest what finding the card's edges adds once both are known.
//
// Assumes: normal errors, and g constant over the spread of the view, which the Monte Carlo tests check. What
// does not come through the view (thresholds, scatter along the item, the hand's pick) is handed over as
// ready lines.
class Propagation {
  public:
    // What sets the scale: its relative standard uncertainty, and what to call it in the budget.
    struct Scale {
        double u_rel = 0.0;
        const char* source = tr_later("card size as printed");
    };

    // draws: by Monte Carlo too, so many times (JCGM 101), 100 or more; 0 for none.
    Propagation(const ViewFit& fit, Scale scale, std::string camera_source, int draws = 0);

    // The value as a function of the view, in mm, mm2 or 1; NaN where a view does not see it. own_lines: the
    // doubts that do not come through the view, in the value's unit.
    [[nodiscard]] Reading reading(Measurand measurand, const std::function<double(const View&)>& value,
                                  std::vector<BudgetLine> own_lines,
                                  std::vector<cv::Point2d> outline_px) const;

    // One draw of the view from its distribution, from eight standard normal numbers, for Monte Carlo (JCGM
    // 101).
    [[nodiscard]] View drawn(const View::Parameters& standard_normal) const;

  private:
    // power: of a length that the value is: 2 for an area, 0 for a count.
    [[nodiscard]] Spread spread(const std::function<double(const View&)>& value, double power,
                                const std::vector<BudgetLine>& own_lines) const;

    View view_;
    cv::Matx<double, View::parameter_count, View::parameter_count> root_;  // L
    Scale scale_;
    std::string camera_source_;
    int draws_;
};

}  // namespace frayhold::gauge
