// SPDX-License-Identifier: Apache-2.0
#include "record/csv.h"

#include "language/tr.h"
#include "record/text.h"

namespace frayhold::record {
namespace {

constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";

class Reader {
  public:
    explicit Reader(std::string_view text) : text_(text) {}

    Result<std::vector<CsvRow>> read() {
        if (text_.starts_with(byte_order_mark)) text_.remove_prefix(byte_order_mark.size());
        std::vector<CsvRow> rows;
        while (at_ < text_.size()) {
            if (end_of_line()) continue;
            CsvRow row;
            row.line = line_;
            do {
                Result<std::string> cell = next_is('"') ? quoted() : plain();
                if (!cell) return tl::make_unexpected(cell.error());
                row.cells.push_back(std::move(*cell));
            } while (take(','));
            if (at_ < text_.size() && !end_of_line())
                return wrong("something stands behind a closing quote", "put a comma or a line end there");
            rows.push_back(std::move(row));
        }
        return rows;
    }

  private:
    [[nodiscard]] bool next_is(char sign) const { return at_ < text_.size() && text_[at_] == sign; }

    bool take(char sign) {
        if (!next_is(sign)) return false;
        ++at_;
        return true;
    }

    bool end_of_line() {
        const bool returned = take('\r');
        if (!take('\n') && !returned) return false;
        ++line_;
        return true;
    }

    Result<std::string> plain() {
        std::string cell;
        while (at_ < text_.size() && !next_is(',') && !next_is('\r') && !next_is('\n')) {
            if (next_is('"'))
                return wrong("a quote stands inside a cell that has none around it",
                             "put the cell in quotes and double the quotes inside");
            cell += text_[at_++];
        }
        return cell;
    }

    Result<std::string> quoted() {
        const int begun = line_;
        ++at_;
        std::string cell;
        while (at_ < text_.size()) {
            if (take('"')) {
                if (!take('"')) return cell;
                cell += '"';
                continue;
            }
            if (next_is('\n') || (next_is('\r') && text_.substr(at_, 2) != "\r\n")) ++line_;
            cell += text_[at_++];
        }
        line_ = begun;
        return wrong("a quote is not closed", "close it");
    }

    [[nodiscard]] tl::unexpected<Error> wrong(const std::string& what, const std::string& mend) const {
        return failed(Fault::input, trf("line {}", line_), what, mend);
    }

    std::string_view text_;
    std::size_t at_ = 0;
    int line_ = 1;
};

// A byte order mark at the start of a file is none of its text: a cell that begins with one must not stand
// there bare.
bool needs_quotes(const std::string& cell) {
    return cell.find_first_of(",\"\r\n") != std::string::npos || cell.starts_with(byte_order_mark);
}

}  // namespace

Result<std::vector<CsvRow>> parse_csv(std::string_view text) {
    if (!is_plain_text(text))
        return failed(Fault::input, tr("the file"), "the text is not UTF-8", "save it again as CSV in UTF-8");
    return Reader(text).read();
}

std::string csv_row(const std::vector<std::string>& cells) {
    std::string row;
    for (std::size_t i = 0; i < cells.size(); ++i) {
        if (i > 0) row += ',';
        if (!needs_quotes(cells[i]) && !(cells.size() == 1 && cells[i].empty())) {
            row += cells[i];
            continue;
        }
        row += '"';
        for (const char sign : cells[i]) {
            if (sign == '"') row += '"';
            row += sign;
        }
        row += '"';
    }
    return row + "\r\n";
}

}  // namespace frayhold::record
