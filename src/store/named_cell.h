// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "language/tr.h"
#include "units/error.h"

namespace frayhold::store {

// A cell that holds one of a fixed list of names, as its value. Failure (Fault::outside) where it holds
// another.
template <class Value>
[[nodiscard]] Value named(const std::string& cell, std::optional<Value> (*value_named)(std::string_view)) {
    if (const std::optional<Value> value = value_named(cell)) return *value;
    throw Failure(Fault::outside, tr("the store"), trf("a row holds the unknown name '{}'", cell),
                  "use the newer Frayhold that wrote it");
}

}  // namespace frayhold::store
