// SPDX-License-Identifier: Apache-2.0
#include "language/languages.h"

#include <algorithm>

#include "units/program_place.h"

namespace frayhold::language {
namespace {

namespace fs = std::filesystem;

// "de" of "de-AT" and "de_CH.UTF-8".
std::string_view language_of(std::string_view wish) {
    return wish.substr(0, wish.find_first_of("-_.@"));
}

}  // namespace

Languages::Languages(const std::vector<fs::path>& folders) : names_{"en"} {
    for (const fs::path& folder : folders) {
        if (!fs::is_directory(folder)) continue;
        for (const fs::directory_entry& entry : fs::directory_iterator(folder))
            if (fs::is_regular_file(entry.path() / "LC_MESSAGES" / "frayhold.mo"))
                names_.push_back(entry.path().filename().string());
        if (names_.size() == 1) continue;
        folder_ = folder;
        break;
    }
    std::sort(names_.begin(), names_.end());
}

std::vector<std::string> Languages::names() const {
    return names_;
}

bool Languages::has(std::string_view name) const {
    return std::binary_search(names_.begin(), names_.end(), name);
}

const Catalogue* Languages::of(std::string_view name) {
    if (name == "en" || !has(name)) return nullptr;
    const std::lock_guard lock(mutex_);
    auto found = read_.find(name);
    if (found == read_.end())
        found = read_.emplace(name, std::make_unique<const Catalogue>(folder_, std::string(name))).first;
    return found->second.get();
}

const Catalogue* Languages::first_of(const std::vector<std::string>& wishes) {
    for (const std::string& wish : wishes)
        if (const auto name = language_of(wish); has(name)) return of(name);
    return nullptr;
}

std::vector<fs::path> usual_folders() {
    std::vector<fs::path> folders;
    if (const auto prefix = program_prefix()) folders.push_back(*prefix / "share" / "locale");
#ifdef FRAYHOLD_BUILT_CATALOGUES
    folders.emplace_back(FRAYHOLD_BUILT_CATALOGUES);
#endif
    return folders;
}

}  // namespace frayhold::language
