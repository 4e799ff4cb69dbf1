// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <limits>
#include <opencv2/core/types.hpp>
#include <span>
#include <string>
#include <vector>

#include "gauge/measurand.h"
#include "gauge/monte_carlo.h"

namespace frayhold::gauge {

// One line of an uncertainty budget (JCGM 100:2008, 5.1): u is |sensitivity| x standard uncertainty of the
// source, already in the unit of the reading.
struct BudgetLine {
    std::string source;
    double u = 0.0;
    double dof = std::numeric_limits<double>::infinity();
};

// A measured value with its uncertainty; never made without a budget. Values in mm, mm2 or 1 (unit_of).
struct Reading {
    Measurand measurand{};
    double value = 0.0;
    double u = 0.0;  // combined standard uncertainty, root sum of squares of the budget
    double k = 2.0;  // coverage factor; Student's t for 95.45 % where dof are few (JCGM 100, G.3)
    double U = 0.0;  // expanded uncertainty k u
    double dof = std::numeric_limits<double>::infinity();  // Welch-Satterthwaite (JCGM 100, G.2b)
    std::vector<cv::Point2d>
        outline_px;  // in the upright picture, origin at the centre of the top left pixel
    std::vector<BudgetLine> budget;
    std::optional<Spread> monte_carlo;  // where it was asked for: the same model by draws (JCGM 101)
    // How the value changes with each of View::Parameters (view.h), in their order and units; empty where it
    // does not come through a view.
    std::vector<double> view_gradient;
};

// Combines the lines: the only way a Reading gets its u, dof, k and U.
[[nodiscard]] Reading combine(Measurand measurand, double value, std::vector<BudgetLine> budget,
                              std::vector<cv::Point2d> outline_px = {});

// The first reading of a quantity; null where it was not read.
[[nodiscard]] const Reading* reading_of(std::span<const Reading> readings, Measurand measurand);

}  // namespace frayhold::gauge
