// SPDX-License-Identifier: Apache-2.0
#include "record/verdict.h"

#include <array>

#include "language/tr.h"
#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array kinds{
    Named<VerdictKind>{VerdictKind::retire_and_destroy, "retire_and_destroy", tr_later("retire and destroy")},
    Named<VerdictKind>{VerdictKind::cut_and_keep_parts, "cut_and_keep_parts",
                       tr_later("cut out and keep the parts")},
    Named<VerdictKind>{VerdictKind::return_to_service, "return_to_service", tr_later("return to service")},
    Named<VerdictKind>{VerdictKind::return_with_limit, "return_with_limit",
                       tr_later("return to service with a limit")},
    Named<VerdictKind>{VerdictKind::send_to_maker, "send_to_maker", tr_later("send to the maker")},
};

}  // namespace

std::string_view name_of(VerdictKind kind) {
    return entry_for(kinds, kind).name;
}
std::optional<VerdictKind> verdict_kind_named(std::string_view name) {
    return value_named(kinds, name);
}
std::string words_for(VerdictKind kind) {
    return tr_word(entry_for(kinds, kind).words);
}

const std::vector<VerdictKind>& all_verdict_kinds() {
    static const std::vector<VerdictKind> all = values_of(kinds);
    return all;
}

}  // namespace frayhold::record
