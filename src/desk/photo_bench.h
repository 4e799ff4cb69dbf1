// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "criteria/table.h"
#include "desk/drawn.h"
#include "desk/measuring.h"
#include "photo/photo.h"
#include "record/item.h"

namespace frayhold::desk {

// A photo opened for looking closely: decoded once, measured as often as a person moves a corner or draws a
// line. Several threads may measure on one bench.
class PhotoBench {
  public:
    PhotoBench(photo::Photo photo, const record::Item& item, std::shared_ptr<const criteria::Table> table);
    ~PhotoBench();
    PhotoBench(PhotoBench&&) noexcept;
    PhotoBench& operator=(PhotoBench&&) noexcept;

    // Everything anew with what was drawn. Throws Failure (Fault::usage or input) where that cannot be
    // measured: corners that are no card, a line of one point.
    [[nodiscard]] MeasuredPhoto measured(const Drawn& drawn) const;

    // The readings while a corner of the card moves (gauge/follow.h), from what was measured last. Nothing
    // where there is nothing to follow: no corners, or other marks than were measured. Throws Failure
    // (Fault::input) where the corners are no card.
    [[nodiscard]] std::optional<std::vector<gauge::Reading>> followed(const Drawn& drawn) const;

    [[nodiscard]] const photo::Photo& photo() const { return photo_; }

  private:
    photo::Photo photo_;
    gauge::Request usual_;
    std::shared_ptr<const criteria::Table> table_;
    criteria::About about_;

    struct Last;  // what was measured last, for several threads
    std::unique_ptr<Last> last_;
};

// The readings of what was drawn: the last ones of the report, in the order of the marks.
[[nodiscard]] std::vector<gauge::Reading> readings_of(const Drawn& drawn, const gauge::Report& report);

}  // namespace frayhold::desk
