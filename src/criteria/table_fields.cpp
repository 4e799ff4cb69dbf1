// SPDX-License-Identifier: Apache-2.0
#include "criteria/table_fields.h"

#include <cctype>
#include <fstream>
#include <iterator>

namespace frayhold::criteria {

Json read_json(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    if (!in)
        throw Failure(Fault::input, path.string(), "the table cannot be read",
                      "check that the file is there");
    try {
        return Json::parse(text);
    } catch (const Json::parse_error& error) {
        throw Failure(Fault::input, path.string(), trf("not JSON at byte {}", error.byte),
                      "check brackets, quotes and commas there");
    }
}

std::string folded(std::string_view text) {
    std::string out;
    for (const char c : text) {
        const auto byte = static_cast<unsigned char>(c);
        if (std::isspace(byte) == 0)
            out += static_cast<char>(std::tolower(byte));
        else if (!out.empty() && out.back() != ' ')
            out += ' ';
    }
    if (!out.empty() && out.back() == ' ') out.pop_back();
    return out;
}

}  // namespace frayhold::criteria
