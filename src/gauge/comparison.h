// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "gauge/gauge.h"

// Two photos of one place of one item, taken at different times: what has changed, in millimetres.
//
// Each photo is measured by its own card, so no scale is carried from one to the other. Which station of one
// is which of the other is told by the weave: the light of the item's middle, station by station and in three
// colours, less its slow course, is shifted along the other's, and turned end for end, to where both
// correlate best. A braid without tracer yarns repeats every few millimetres and cannot tell; then only that
// is said.
//
// The uncertainty of a change adds those of both readings as if they were independent. What both share, such
// as a card printed too large, then counts twice: U is never too small by it.
namespace frayhold::gauge {

// Where the earlier photo's stations lie among the later's.
struct Alignment {
    bool turned = false;    // the item runs the other way
    double shift_mm = 0.0;  // later station = earlier + shift, or length - earlier + shift where turned
    double likeness = 0.0;  // correlation of the two weaves, at most 1
    double overlap_mm = 0.0;
};

// What a quantity has changed by, later less earlier.
[[nodiscard]] Reading change_between(const Reading& earlier, const Reading& later);

// Whether a change differs from none by more than its U.
[[nodiscard]] inline bool is_plain(const Reading& change) {
    return std::abs(change.value) > change.U;
}

// A quantity of one photo beside the other's. `change` is made where both were read: later less earlier.
struct Change {
    Measurand measurand{};
    std::optional<Reading> before;
    std::optional<Reading> after;
    std::optional<Reading> change;

    [[nodiscard]] bool is_plain() const { return change && gauge::is_plain(*change); }
};

struct Comparison {
    std::optional<Alignment> alignment;  // empty where the weave does not tell
    std::vector<Change> changes;  // in the order of the later report's readings, then those only seen before
    std::string remark;           // what the person must know of it; never empty
};

// Both reports measured and usable; hand-drawn marks are left out, since nothing says that both are of one
// thing.
[[nodiscard]] Comparison compare(const Report& earlier, const Report& later);

}  // namespace frayhold::gauge
