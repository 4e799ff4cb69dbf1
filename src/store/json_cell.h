// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "language/tr.h"
#include "units/error.h"

// Short lists kept as JSON in one cell.
namespace frayhold::store {

// Failure (Fault::outside) where the cell holds something else.
template <class T>
[[nodiscard]] T from_json_cell(const std::string& cell, const std::function<T(const nlohmann::json&)>& read) {
    try {
        return read(nlohmann::json::parse(cell));
    } catch (const nlohmann::json::exception&) {
        throw Failure(Fault::outside, tr("the store"),
                      trf("a cell holds no JSON of the form it should: {}", cell.substr(0, 60)),
                      "run verify");
    }
}

[[nodiscard]] inline std::string texts_cell(const std::vector<std::string>& texts) {
    return nlohmann::json(texts).dump();
}

[[nodiscard]] inline std::vector<std::string> texts_from_cell(const std::string& cell) {
    return from_json_cell<std::vector<std::string>>(
        cell, [](const nlohmann::json& list) { return list.get<std::vector<std::string>>(); });
}

}  // namespace frayhold::store
