// SPDX-License-Identifier: Apache-2.0
#include "language/wishes.h"

#include <algorithm>
#include <cstdlib>
#include <utility>

namespace frayhold::language {
namespace {

std::vector<std::string> parted(std::string_view text, char at) {
    std::vector<std::string> parts;
    while (!text.empty()) {
        const auto end = text.find(at);
        std::string_view part = text.substr(0, end);
        while (!part.empty() && part.front() == ' ') part.remove_prefix(1);
        while (!part.empty() && part.back() == ' ') part.remove_suffix(1);
        if (!part.empty()) parts.emplace_back(part);
        if (end == std::string_view::npos) break;
        text.remove_prefix(end + 1);
    }
    return parts;
}

bool is_no_language(const std::string& locale) {
    return locale == "C" || locale == "POSIX" || locale.starts_with("C.");
}

// Of "de;q=0.9", 0.9; 1 where none is given, 0 where what is given is no number.
double share_of(const std::vector<std::string>& parts) {
    for (std::size_t i = 1; i < parts.size(); ++i)
        if (parts[i].starts_with("q=")) return std::strtod(parts[i].c_str() + 2, nullptr);
    return 1.0;
}

}  // namespace

std::vector<std::string> wishes_of_environment(const std::string& language, const std::string& lc_all,
                                               const std::string& lc_messages, const std::string& lang) {
    const std::string& locale = !lc_all.empty() ? lc_all : !lc_messages.empty() ? lc_messages : lang;
    if (is_no_language(locale)) return {};
    std::vector<std::string> wishes = parted(language, ':');
    if (!locale.empty()) wishes.push_back(locale);
    return wishes;
}

std::vector<std::string> wishes_of_browser(std::string_view accept_language) {
    struct Wish {
        std::string name;
        double share;
    };
    std::vector<Wish> wishes;
    for (const std::string& entry : parted(accept_language, ',')) {
        const std::vector<std::string> parts = parted(entry, ';');
        if (parts.empty()) continue;
        if (const double share = share_of(parts); share > 0) wishes.push_back({parts.front(), share});
    }
    std::stable_sort(wishes.begin(), wishes.end(),
                     [](const Wish& a, const Wish& b) { return a.share > b.share; });
    std::vector<std::string> names;
    for (Wish& wish : wishes) names.push_back(std::move(wish.name));
    return names;
}

}  // namespace frayhold::language
