// SPDX-License-Identifier: Apache-2.0
#include "desk/shipped.h"

#include <string_view>

#include "record/item.h"
#include "units/program_place.h"

namespace frayhold::desk {

namespace fs = std::filesystem;

std::vector<fs::path> shipped_folders(const std::string& name) {
    std::vector<fs::path> folders;
    if (const auto prefix = program_prefix()) folders.push_back(*prefix / "share" / "frayhold" / name);
#ifdef FRAYHOLD_SOURCE_TREE
    folders.push_back(fs::path(FRAYHOLD_SOURCE_TREE) / name);
#endif
    return folders;
}

criteria::Table usual_criteria() {
    const std::vector<fs::path> files = criteria::table_files(shipped_folders("templates/criteria"));
    return criteria::load_tables(files);
}

criteria::LifeTable usual_lives() {
    const std::vector<fs::path> files = criteria::table_files(shipped_folders("templates/lives"));
    std::vector<std::string_view> kinds;
    for (const record::Kind kind : record::all_kinds()) kinds.push_back(record::name_of(kind));
    return criteria::load_lives(files, kinds);
}

}  // namespace frayhold::desk
