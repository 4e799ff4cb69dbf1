// SPDX-License-Identifier: Apache-2.0
#include "language/catalogue.h"

#include <algorithm>
#include <boost/locale/gnu_gettext.hpp>
#include <limits>
#include <utility>

#include "units/error.h"

namespace frayhold::language {

namespace fs = std::filesystem;
using Facet = boost::locale::message_format<char>;

struct Catalogue::Messages {
    // The facet counts its own references and frees itself at the last.
    std::locale holder;
    const Facet* facet;

    explicit Messages(Facet* made) : holder(std::locale::classic(), made), facet(made) {}
};

Catalogue::Catalogue(const fs::path& folder, std::string name) : name_(std::move(name)) {
    const fs::path file = folder / name_ / "LC_MESSAGES" / "frayhold.mo";
    if (!fs::is_regular_file(file))
        throw Failure(Fault::outside, file.string(), "there is no such catalogue",
                      "install the program again");
    boost::locale::gnu_gettext::messages_info info;
    info.language = name_;
    info.encoding = "UTF-8";
    info.paths = {folder.string()};
    info.domains.emplace_back("frayhold");
    Facet* facet = nullptr;
    try {
        facet = boost::locale::gnu_gettext::create_messages_facet<char>(info);
    } catch (const std::exception& error) {
        throw Failure(Fault::outside, file.string(), error.what(), "install the program again");
    }
    messages_ = std::make_unique<Messages>(facet);
}

Catalogue::~Catalogue() = default;

const char* Catalogue::message(const char* context, const char* english) const {
    return messages_->facet->get(0, context, english);
}

const char* Catalogue::counted(const char* one, long count) const {
    constexpr long most = std::numeric_limits<int>::max();
    return messages_->facet->get(0, nullptr, one, static_cast<int>(std::min(count, most)));
}

}  // namespace frayhold::language
