// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// What can be printed, and forms that say of what.
[[nodiscard]] Answer print_page(const Visit& visit);

// Each as PDF: labels for items named by "marks" (one a word), "kit" or "place"; a shelf list; the tag of a
// hold; the record of one item, of a year or of all.
[[nodiscard]] Answer labels_pdf(const Visit& visit);
[[nodiscard]] Answer shelf_pdf(const Visit& visit);
[[nodiscard]] Answer hold_tag_pdf(const Visit& visit, const std::string& hold);
[[nodiscard]] Answer item_record_pdf(const Visit& visit);

// What the store shows, as charts.
[[nodiscard]] Answer charts_page(const Visit& visit);

}  // namespace frayhold::web
