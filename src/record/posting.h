// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "units/date.h"

namespace frayhold::record {

// A query's way through the outbox.
//
//   waiting -> trying -> handing_over -> accepted
//      ^________|            |
//      |_____________________|  (a reply 4xx, or a person's word)
//
// Each change is on the disk before the next step of the post. A program that ends in 'trying' has handed
// nothing over: the query waits again. One that ends in 'handing_over' cannot know whether the server took
// the message over (the reply to the final dot is lost), so it becomes 'unsure' and is never sent again but
// on a person's word.
enum class PostState {
    waiting,       // to be tried at its time
    trying,        // a connection is being made, or the message is going out but for its last bytes
    handing_over,  // the last bytes may be out
    accepted,      // the server has taken it over
    unsure,        // it may have been taken over or not: a person says
    refused,       // the server will not have it, or it was tried too often: a person says
    withdrawn,     // taken back by a person before it went out
};

// One try to send.
struct PostTry {
    int number = 0;  // 1, 2, 3, … of its query
    Time started{};
    std::optional<Time> handing_over;
    std::optional<Time> ended;
    int code = 0;       // the server's reply; 0 without one
    std::string words;  // how it ended

    bool operator==(const PostTry&) const = default;
};

struct Posting {
    PostState state = PostState::waiting;
    std::string queued_by;
    Time queued{};
    std::optional<Time> next_try;  // while waiting
    std::vector<PostTry> tries;    // the oldest first

    bool operator==(const Posting&) const = default;
};

[[nodiscard]] std::string_view name_of(PostState state);
[[nodiscard]] std::optional<PostState> post_state_named(std::string_view name);
[[nodiscard]] std::string words_for(PostState state);

// Whether the post still has to do with it, or may have sent it: then nobody marks it sent by hand.
[[nodiscard]] bool is_in_the_post(const Posting& posting);

}  // namespace frayhold::record
