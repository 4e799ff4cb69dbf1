// SPDX-License-Identifier: Apache-2.0
#include "cli/text_table.h"

#include <algorithm>
#include <ostream>

namespace frayhold::cli {
namespace {

std::size_t width_of(const std::string& text) {
    constexpr unsigned continuation_mask = 0xC0U;
    constexpr unsigned continuation = 0x80U;
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char letter) {
        return (static_cast<unsigned char>(letter) & continuation_mask) != continuation;
    }));
}

}  // namespace

TextTable::TextTable(std::vector<std::string> header) : header_(std::move(header)) {}

void TextTable::add(std::vector<std::string> row) {
    rows_.push_back(std::move(row));
}

void TextTable::print(std::ostream& out, int indent) const {
    std::vector<std::size_t> widths;
    const auto widen = [&](const std::vector<std::string>& row) {
        widths.resize(std::max(widths.size(), row.size()));
        for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], width_of(row[i]));
    };
    widen(header_);
    for (const auto& row : rows_) widen(row);
    const auto print_row = [&](const std::vector<std::string>& row) {
        constexpr std::size_t gap = 2;
        std::string line(static_cast<std::size_t>(indent), ' ');
        for (std::size_t i = 0; i < row.size(); ++i) {
            line += row[i];
            if (i + 1 < row.size()) line.append(widths[i] - width_of(row[i]) + gap, ' ');
        }
        line.erase(line.find_last_not_of(' ') + 1);
        out << line << '\n';
    };
    if (!header_.empty()) print_row(header_);
    for (const auto& row : rows_) print_row(row);
}

}  // namespace frayhold::cli
