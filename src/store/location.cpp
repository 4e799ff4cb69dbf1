// SPDX-License-Identifier: Apache-2.0
#include "store/location.h"

#include <algorithm>
#include <string_view>

#include "units/error.h"

namespace frayhold::store {
namespace {

bool is_address(std::string_view words) {
    return words.starts_with("postgresql://") || words.starts_with("postgres://");
}

// "user:secret@host", or a parameter that hands one over.
bool holds_password(std::string_view address) {
    const std::string_view rest = address.substr(address.find("//") + 2);
    const std::string_view authority = rest.substr(0, std::min(rest.find('/'), rest.find('?')));
    const std::size_t at = authority.rfind('@');
    if (at != std::string_view::npos && authority.substr(0, at).find(':') != std::string_view::npos)
        return true;
    // An '@' behind the first '/' would be a password that holds a '/'.
    if (at == std::string_view::npos && rest.substr(0, rest.find('?')).find('@') != std::string_view::npos)
        return true;
    const std::size_t query = rest.find('?');
    return query != std::string_view::npos && rest.substr(query).find("password=") != std::string_view::npos;
}

}  // namespace

std::string Location::name() const {
    if (const ServerPlace* at = server()) return at->address;
    return folder()->string();
}

Location location_of(const std::string& store, const std::string& photos, const std::string& key_file) {
    if (!is_address(store)) {
        if (!photos.empty())
            throw Failure(Fault::usage, "--photos", "a store in a folder keeps its photos there",
                          "leave it out, or give --store postgresql://…");
        return Location(std::filesystem::path(store));
    }
    if (holds_password(store))
        throw Failure(Fault::usage, "--store", "the address holds a password, which others could read",
                      "leave it out and put it into the file that PGPASSFILE names (~/.pgpass, mode 0600)");
    if (photos.empty())
        throw Failure(Fault::usage, "--photos", "no place for photos is named",
                      "give --photos DIR or set FRAYHOLD_PHOTOS: a folder that all who use this store share");
    return Location(ServerPlace{store, photos, key_file});
}

}  // namespace frayhold::store
