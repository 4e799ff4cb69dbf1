// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// Every kit and what it is short of.
[[nodiscard]] Answer kits_page(const Visit& visit);

// What one kit needs, has and is short of; a POST sets how many items of a kind it needs.
[[nodiscard]] Answer kit_page(const Visit& visit);

}  // namespace frayhold::web
