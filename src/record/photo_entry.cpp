// SPDX-License-Identifier: Apache-2.0
#include "record/photo_entry.h"

#include <array>

#include "language/tr.h"
#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array roles{
    Named<PhotoRole>{PhotoRole::label, "label", tr_later("the label")},
    Named<PhotoRole>{PhotoRole::whole_item, "whole_item", tr_later("the whole item")},
    Named<PhotoRole>{PhotoRole::close_up, "close_up", tr_later("the damage, close up with the card")},
    Named<PhotoRole>{PhotoRole::other_side, "other_side",
                     tr_later("the damage from the other side with the card")},
    Named<PhotoRole>{PhotoRole::second_view, "second_view",
                     tr_later("a second view of the damage with the card")},
};

}  // namespace

std::string_view name_of(PhotoRole role) {
    return entry_for(roles, role).name;
}
std::optional<PhotoRole> photo_role_named(std::string_view name) {
    return value_named(roles, name);
}
std::string words_for(PhotoRole role) {
    return tr_word(entry_for(roles, role).words);
}

const std::vector<PhotoRole>& all_photo_roles() {
    static const std::vector<PhotoRole> all = values_of(roles);
    return all;
}

bool needs_card(PhotoRole role) {
    return role != PhotoRole::label && role != PhotoRole::whole_item;
}

}  // namespace frayhold::record
