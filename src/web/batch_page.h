// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// A maker's notice about a batch: first what it would put on hold, then, on a person's word, one hold for
// each item.
[[nodiscard]] Answer batch_page(const Visit& visit);

}  // namespace frayhold::web
