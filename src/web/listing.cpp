// SPDX-License-Identifier: Apache-2.0
#include "web/listing.h"

#include <fmt/format.h>

#include <algorithm>

#include "language/tr.h"
#include "record/text.h"
#include "web/visit.h"

namespace frayhold::web {

Paging::Paging(const Request& request) {
    constexpr int most_pages = 100'000;
    if (!request.field("page").empty())
        page_ = std::clamp(whole_number(request.field("page"), tr("page")), 1, most_pages);
}

void Paging::put_into(nlohmann::json& data, nlohmann::json& lines, const std::string& path,
                      std::initializer_list<std::pair<const char*, std::string>> fields) const {
    const bool more = lines.size() > lines_a_page;
    while (lines.size() > lines_a_page) lines.erase(lines.size() - 1);
    data["none"] = lines.empty();
    data["page"] = page_;
    data["pages"] = more || page_ > 1;
    if (page_ > 1) data["earlier"] = path_with(path, fields, page_ - 1);
    if (more) data["later"] = path_with(path, fields, page_ + 1);
    data["lines"] = std::move(lines);
}

std::string path_with(const std::string& path,
                      std::initializer_list<std::pair<const char*, std::string>> fields, int page) {
    std::string whole = path;
    char sign = '?';
    const auto add = [&](const std::string& name, const std::string& value) {
        whole += fmt::format("{}{}={}", sign, name, percent_encoded(value));
        sign = '&';
    };
    for (const auto& [name, value] : fields)
        if (!value.empty()) add(name, value);
    if (page > 1) add("page", std::to_string(page));
    return whole;
}

std::vector<std::string> parts_typed(const std::string& text, const char* separators) {
    std::vector<std::string> parts;
    for (std::size_t at = 0; at <= text.size();) {
        const std::size_t end = std::min(text.find_first_of(separators, at), text.size());
        const std::string part = record::trimmed(text.substr(at, end - at));
        if (!part.empty()) parts.push_back(part);
        at = end + 1;
    }
    return parts;
}

}  // namespace frayhold::web
