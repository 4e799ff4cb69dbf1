// SPDX-License-Identifier: Apache-2.0
#include "record/photo_entry.h"

#include <array>

#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array roles{
    Named<PhotoRole>{PhotoRole::label, "label", "the label"},
    Named<PhotoRole>{PhotoRole::whole_item, "whole_item", "the whole item"},
    Named<PhotoRole>{PhotoRole::close_up, "close_up", "the damage, close up with the card"},
    Named<PhotoRole>{PhotoRole::other_side, "other_side", "the damage from the other side with the card"},
    Named<PhotoRole>{PhotoRole::second_view, "second_view", "a second view of the damage with the card"},
};

}  // namespace

std::string_view name_of(PhotoRole role) {
    return entry_for(roles, role).name;
}
std::optional<PhotoRole> photo_role_named(std::string_view name) {
    return value_named(roles, name);
}
std::string_view words_for(PhotoRole role) {
    return entry_for(roles, role).words;
}

const std::vector<PhotoRole>& all_photo_roles() {
    static const std::vector<PhotoRole> all = values_of(roles);
    return all;
}

bool needs_card(PhotoRole role) {
    return role != PhotoRole::label && role != PhotoRole::whole_item;
}

}  // namespace frayhold::record
