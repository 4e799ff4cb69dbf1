// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "record/photo_marks.h"
#include "store/database.h"

namespace frayhold::store {

// Gives the set the next turn within its photo.
[[nodiscard]] record::PhotoMarks insert_photo_marks(Database& database, record::PhotoMarks marks);

// The newest set of each photo of the hold, by the photo's number.
[[nodiscard]] std::vector<record::PhotoMarks> photo_marks_of(const Database& database,
                                                             const std::string& hold);

}  // namespace frayhold::store
