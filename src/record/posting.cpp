// SPDX-License-Identifier: Apache-2.0
#include "record/posting.h"

#include <array>

#include "language/tr.h"
#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array states{
    Named<PostState>{PostState::waiting, "waiting", tr_later("waiting to be sent")},
    Named<PostState>{PostState::trying, "trying", tr_later("being sent")},
    Named<PostState>{PostState::handing_over, "handing_over", tr_later("being handed over")},
    Named<PostState>{PostState::accepted, "accepted", tr_later("taken over by the mail server")},
    Named<PostState>{PostState::unsure, "unsure", tr_later("sent or not: nobody knows")},
    Named<PostState>{PostState::refused, "refused", tr_later("not taken by the mail server")},
    Named<PostState>{PostState::withdrawn, "withdrawn", tr_later("taken back before it was sent")},
};

}  // namespace

std::string_view name_of(PostState state) {
    return entry_for(states, state).name;
}
std::optional<PostState> post_state_named(std::string_view name) {
    return value_named(states, name);
}
std::string words_for(PostState state) {
    return tr_word(entry_for(states, state).words);
}

bool is_in_the_post(const Posting& posting) {
    return posting.state != PostState::refused && posting.state != PostState::withdrawn;
}

}  // namespace frayhold::record
