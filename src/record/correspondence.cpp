// SPDX-License-Identifier: Apache-2.0
#include "record/correspondence.h"

#include <array>

#include "language/tr.h"
#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array answers{
    Named<MakersAnswer>{MakersAnswer::fit, "fit", tr_later("fit for service")},
    Named<MakersAnswer>{MakersAnswer::fit_with_limit, "fit_with_limit", tr_later("fit with a limit")},
    Named<MakersAnswer>{MakersAnswer::not_fit, "not_fit", tr_later("not fit for service")},
    Named<MakersAnswer>{MakersAnswer::send_it_in, "send_it_in", tr_later("send it in")},
    Named<MakersAnswer>{MakersAnswer::cannot_say, "cannot_say", tr_later("cannot say")},
};

constexpr std::array ways{
    Named<ReplyWay>{ReplyWay::mail, "mail", tr_later("by mail")},
    Named<ReplyWay>{ReplyWay::pasted, "pasted", tr_later("entered by hand")},
    Named<ReplyWay>{ReplyWay::phone, "phone", tr_later("by telephone")},
};

}  // namespace

std::string_view name_of(MakersAnswer answer) {
    return entry_for(answers, answer).name;
}
std::optional<MakersAnswer> makers_answer_named(std::string_view name) {
    return value_named(answers, name);
}
std::string words_for(MakersAnswer answer) {
    return tr_word(entry_for(answers, answer).words);
}

const std::vector<MakersAnswer>& all_makers_answers() {
    static const std::vector<MakersAnswer> all = values_of(answers);
    return all;
}

std::string_view name_of(ReplyWay way) {
    return entry_for(ways, way).name;
}
std::optional<ReplyWay> reply_way_named(std::string_view name) {
    return value_named(ways, name);
}
std::string words_for(ReplyWay way) {
    return tr_word(entry_for(ways, way).words);
}

}  // namespace frayhold::record
