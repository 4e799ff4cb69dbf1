// SPDX-License-Identifier: Apache-2.0
#include "cli/disclosure_text.h"

#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/text_table.h"
#include "language/tr.h"

namespace frayhold::cli {
namespace {

void print_lines(std::ostream& out, const std::vector<desk::DisclosedLine>& lines) {
    TextTable table;
    for (const desk::DisclosedLine& line : lines) table.add({line.what, line.detail});
    table.print(out, 2);
}

nlohmann::ordered_json lines_json(const std::vector<desk::DisclosedLine>& lines) {
    auto list = nlohmann::ordered_json::array();
    for (const desk::DisclosedLine& line : lines)
        list.push_back({{"what", line.what}, {"detail", line.detail}});
    return list;
}

}  // namespace

desk::Disclosure what_leaves(const desk::Desk& desk, const std::string& hold, const std::string& who) {
    return desk::what_leaves(
        desk.case_file(hold), [&](const std::string& sha256) { return desk.kept_bytes(sha256); }, who);
}

void print_disclosure(std::ostream& out, const desk::Disclosure& leaves) {
    out << tr("With it leaves the house:") << '\n';
    print_lines(out, leaves.sent);
    out << tr("What stays:") << '\n';
    print_lines(out, leaves.kept_back);
}

nlohmann::ordered_json as_json(const desk::Disclosure& leaves) {
    return {{"sent", lines_json(leaves.sent)},
            {"kept_back", lines_json(leaves.kept_back)},
            {"names", leaves.names}};
}

}  // namespace frayhold::cli
