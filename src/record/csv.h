// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "units/error.h"

// Comma-separated values (RFC 4180).
namespace frayhold::record {

struct CsvRow {
    int line = 0;  // on which the row begins, from 1
    std::vector<std::string> cells;

    bool operator==(const CsvRow&) const = default;
};

// Reads a whole text. Lines may end in CR LF, LF or CR, as files in the wild do; a byte order mark is passed
// over, and so are empty lines. Errors (Fault::input) name the line: a quote that is not closed, signs behind
// a closing quote, a quote inside a cell without quotes, text that is not UTF-8.
[[nodiscard]] Result<std::vector<CsvRow>> parse_csv(std::string_view text);

// One row with CR LF at its end; cells with commas, quotes or line ends stand in quotes, and so does a single
// empty cell, which would else be an empty line.
[[nodiscard]] std::string csv_row(const std::vector<std::string>& cells);

}  // namespace frayhold::record
