// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "criteria/advice.h"
#include "criteria/table.h"
#include "gauge/gauge.h"
#include "record/item.h"

// What an item is to the criteria and to the gauge.
namespace frayhold::desk {

[[nodiscard]] criteria::Subject criteria_subject(record::Kind kind);
[[nodiscard]] criteria::About criteria_about(const record::Item& item);
[[nodiscard]] gauge::Subject gauge_subject(record::Kind kind);

}  // namespace frayhold::desk
