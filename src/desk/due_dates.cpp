// SPDX-License-Identifier: Apache-2.0
#include "desk/due_dates.h"

#include <fmt/format.h>

#include <algorithm>

#include "criteria/advice.h"
#include "language/tr.h"
#include "post/due_calendar.h"

namespace frayhold::desk {

std::string calendar_of(std::span<const DueReply> awaited, Time made) {
    std::vector<post::DueDay> days;
    for (const DueReply& reply : awaited) {
        post::DueDay due;
        const std::string& id = reply.query.message_id;
        due.key =
            fmt::format("{}.reply-due{}", reply.hold.number, id.substr(std::min(id.find('@'), id.size())));
        due.day = reply.query.reply_due.value();
        due.summary = trf("{}: reply due on {}", reply.hold.number, reply.hold.item);
        due.description = trf("Asked {} by query {}.", reply.query.to, reply.query.number) + "\n" +
                          tr_word(unanswered_advice) + "\n" + tr_word(criteria::caution);
        days.push_back(std::move(due));
    }
    return post::due_calendar(days, made);
}

}  // namespace frayhold::desk
