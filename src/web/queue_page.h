// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// The holds: what waits longest first, fifty at a time, narrowed by state and by words.
[[nodiscard]] Answer queue_page(const Visit& visit);

// A form to take an item out of service; a POST does it.
[[nodiscard]] Answer new_hold_page(const Visit& visit);

}  // namespace frayhold::web
