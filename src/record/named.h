// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <stdexcept>
#include <string_view>
#include <vector>

// A fixed list of values, each with its name for programs and its words for people.
namespace frayhold::record {

template <class Value>
struct Named {
    Value value;
    std::string_view name;
    std::string_view words;
};

template <class Value, std::size_t N>
const Named<Value>& entry_for(const std::array<Named<Value>, N>& list, Value value) {
    for (const Named<Value>& entry : list)
        if (entry.value == value) return entry;
    throw std::logic_error("a value that is not in its own list");
}

template <class Value, std::size_t N>
std::optional<Value> value_named(const std::array<Named<Value>, N>& list, std::string_view name) {
    for (const Named<Value>& entry : list)
        if (entry.name == name) return entry.value;
    return std::nullopt;
}

template <class Value, std::size_t N>
std::vector<Value> values_of(const std::array<Named<Value>, N>& list) {
    std::vector<Value> values;
    for (const Named<Value>& entry : list) values.push_back(entry.value);
    return values;
}

}  // namespace frayhold::record
