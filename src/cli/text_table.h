// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

namespace frayhold::cli {

// Rows of cells printed in columns for a person. Widths are counted in characters of UTF-8 text.
class TextTable {
  public:
    // An empty header prints none.
    explicit TextTable(std::vector<std::string> header = {});

    void add(std::vector<std::string> row);
    [[nodiscard]] bool empty() const { return rows_.empty(); }
    void print(std::ostream& out, int indent = 0) const;

  private:
    std::vector<std::string> header_;
    std::vector<std::vector<std::string>> rows_;
};

}  // namespace frayhold::cli
