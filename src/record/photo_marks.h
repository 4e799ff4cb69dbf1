// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "units/date.h"

namespace frayhold::record {

// What a person drew on a photo. A later set takes the place of an earlier one, which stays in its row.
struct PhotoMarks {
    std::string hold;
    int photo = 0;            // its number within the hold
    int turn = 0;             // 1, 2, 3, … within the photo; given by the store
    std::string annotations;  // a W3C Web Annotation page as JSON text (desk/annotations.h)
    std::string made_by;
    Time made{};

    bool operator==(const PhotoMarks&) const = default;
};

}  // namespace frayhold::record
