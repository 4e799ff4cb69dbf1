// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "gauge/reading.h"
#include "record/case_file.h"

namespace frayhold::record {

// A reading of a case beside the same quantity as it was read in an earlier hold of the item. Nothing but the
// role of the photos says that they show one place: that is for a person to judge.
struct EarlierReading {
    int photo = 0;  // of this case
    gauge::Reading now;
    std::string hold;  // the earlier one
    int earlier_photo = 0;
    Time earlier_added{};
    gauge::Reading before;
    gauge::Reading change;  // now less before, with the U of a difference
};

// Each reading made by the program in a usable photo, beside that of the newest earlier hold that has a
// usable photo of the same role with it. Readings of marks drawn by hand are left out, since nothing says
// that both are of one thing.
[[nodiscard]] std::vector<EarlierReading> earlier_readings(const CaseFile& file);

}  // namespace frayhold::record
