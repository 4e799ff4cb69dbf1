// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <initializer_list>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "web/exchange.h"

namespace frayhold::web {

// Pages of a long list: what the request asks for, and the ways to the pages beside it. One line more than is
// shown is asked of the desk, so that nothing has to be counted.
class Paging {
  public:
    static constexpr int lines_a_page = 50;

    // Throws Failure (Fault::input) where the page asked for is no number.
    explicit Paging(const Request& request);

    [[nodiscard]] int limit() const { return lines_a_page + 1; }
    [[nodiscard]] int offset() const { return (page_ - 1) * lines_a_page; }

    // Takes the line too many off `lines`, and puts "page", "earlier" and "later" into `data`. `path` and
    // `fields` are those of the list; empty fields are left out.
    void put_into(nlohmann::json& data, nlohmann::json& lines, const std::string& path,
                  std::initializer_list<std::pair<const char*, std::string>> fields) const;

  private:
    int page_ = 1;
};

// "/items?words=kt&page=2".
[[nodiscard]] std::string path_with(const std::string& path,
                                    std::initializer_list<std::pair<const char*, std::string>> fields,
                                    int page = 1);

// The parts of what was typed, without blanks around them; empty ones are left out.
[[nodiscard]] std::vector<std::string> parts_typed(const std::string& text, const char* separators);

// A list to choose from, for a <select>: name, words, chosen.
template <class Values>
[[nodiscard]] nlohmann::json choices(const Values& values, const std::string& chosen) {
    nlohmann::json list = nlohmann::json::array();
    for (const auto& value : values)
        list.push_back(
            {{"name", name_of(value)}, {"words", words_for(value)}, {"chosen", name_of(value) == chosen}});
    return list;
}

}  // namespace frayhold::web
