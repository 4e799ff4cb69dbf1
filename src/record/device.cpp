// SPDX-License-Identifier: Apache-2.0
#include "record/device.h"

#include <array>

#include "language/tr.h"
#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array roles{
    Named<Role>{Role::helper, "helper", tr_later("helper")},
    Named<Role>{Role::keeper, "keeper", tr_later("keeper")},
    Named<Role>{Role::competent_person, "competent_person", tr_later("competent person")},
};

}  // namespace

std::string_view name_of(Role role) {
    return entry_for(roles, role).name;
}
std::optional<Role> role_named(std::string_view name) {
    return value_named(roles, name);
}
std::string words_for(Role role) {
    return tr_word(entry_for(roles, role).words);
}
const std::vector<Role>& all_roles() {
    static const std::vector<Role> all = values_of(roles);
    return all;
}

}  // namespace frayhold::record
