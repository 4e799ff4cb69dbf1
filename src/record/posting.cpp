// SPDX-License-Identifier: Apache-2.0
#include "record/posting.h"

#include <array>

#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array states{
    Named<PostState>{PostState::waiting, "waiting", "waiting to be sent"},
    Named<PostState>{PostState::trying, "trying", "being sent"},
    Named<PostState>{PostState::handing_over, "handing_over", "being handed over"},
    Named<PostState>{PostState::accepted, "accepted", "taken over by the mail server"},
    Named<PostState>{PostState::unsure, "unsure", "sent or not: nobody knows"},
    Named<PostState>{PostState::refused, "refused", "not taken by the mail server"},
    Named<PostState>{PostState::withdrawn, "withdrawn", "taken back before it was sent"},
};

}  // namespace

std::string_view name_of(PostState state) {
    return entry_for(states, state).name;
}
std::optional<PostState> post_state_named(std::string_view name) {
    return value_named(states, name);
}
std::string_view words_for(PostState state) {
    return entry_for(states, state).words;
}

bool is_in_the_post(const Posting& posting) {
    return posting.state != PostState::refused && posting.state != PostState::withdrawn;
}

}  // namespace frayhold::record
