// SPDX-License-Identifier: Apache-2.0
#include "gauge/reading.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "gauge/student_t.h"

namespace frayhold::gauge {
namespace {

void require_sound(double value, const std::vector<BudgetLine>& budget) {
    if (!std::isfinite(value)) throw std::invalid_argument("combine: the value is not a finite number");
    if (budget.empty()) throw std::invalid_argument("combine: a reading needs a budget");
    for (const BudgetLine& line : budget) {
        if (!(std::isfinite(line.u) && line.u >= 0.0))
            throw std::invalid_argument("combine: u of '" + line.source +
                                        "' must be finite and not negative");
        if (!(line.dof > 0.0))
            throw std::invalid_argument("combine: dof of '" + line.source + "' must be above zero");
    }
}

// Effective degrees of freedom by the Welch-Satterthwaite formula, JCGM 100:2008, G.2b. Written with the
// shares u_i / u so that no fourth power can underflow.
double effective_dof(double u, const std::vector<BudgetLine>& budget) {
    if (u == 0.0) return std::numeric_limits<double>::infinity();
    double sum = 0.0;
    for (const BudgetLine& line : budget) sum += std::pow(line.u / u, 4) / line.dof;
    return 1.0 / sum;
}

}  // namespace

Reading combine(Measurand measurand, double value, std::vector<BudgetLine> budget,
                std::vector<cv::Point2d> outline_px) {
    require_sound(value, budget);
    Reading reading;
    reading.measurand = measurand;
    reading.value = value;
    for (const BudgetLine& line : budget) reading.u = std::hypot(reading.u, line.u);
    reading.dof = effective_dof(reading.u, budget);
    reading.k = coverage_factor(reading.dof);
    reading.U = reading.k * reading.u;
    reading.outline_px = std::move(outline_px);
    reading.budget = std::move(budget);
    return reading;
}

const Reading* reading_of(std::span<const Reading> readings, Measurand measurand) {
    const auto at = std::find_if(readings.begin(), readings.end(),
                                 [&](const Reading& reading) { return reading.measurand == measurand; });
    return at == readings.end() ? nullptr : &*at;
}

}  // namespace frayhold::gauge
