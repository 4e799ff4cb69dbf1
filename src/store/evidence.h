// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/finding.h"
#include "record/photo_entry.h"
#include "store/database.h"

namespace frayhold::store {

// Each gives the row the next number within its hold; that number is in what comes back.
[[nodiscard]] record::Finding insert_finding(Database& database, record::Finding finding);
// The photo's bytes and mark-up must be known as blobs (see known_blobs.h).
[[nodiscard]] record::PhotoEntry insert_photo(Database& database, record::PhotoEntry photo);
void insert_waived_view(Database& database, const record::WaivedView& view);

[[nodiscard]] std::vector<record::Finding> findings_of(const Database& database, const std::string& hold);
[[nodiscard]] std::vector<record::PhotoEntry> photos_of(const Database& database, const std::string& hold);
[[nodiscard]] std::vector<record::WaivedView> waived_views_of(const Database& database,
                                                              const std::string& hold);

}  // namespace frayhold::store
