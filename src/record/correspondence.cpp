// SPDX-License-Identifier: Apache-2.0
#include "record/correspondence.h"

#include <array>

#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array answers{
    Named<MakersAnswer>{MakersAnswer::fit, "fit", "fit for service"},
    Named<MakersAnswer>{MakersAnswer::fit_with_limit, "fit_with_limit", "fit with a limit"},
    Named<MakersAnswer>{MakersAnswer::not_fit, "not_fit", "not fit for service"},
    Named<MakersAnswer>{MakersAnswer::send_it_in, "send_it_in", "send it in"},
    Named<MakersAnswer>{MakersAnswer::cannot_say, "cannot_say", "cannot say"},
};

constexpr std::array ways{
    Named<ReplyWay>{ReplyWay::mail, "mail", "by mail"},
    Named<ReplyWay>{ReplyWay::pasted, "pasted", "entered by hand"},
    Named<ReplyWay>{ReplyWay::phone, "phone", "by telephone"},
};

}  // namespace

std::string_view name_of(MakersAnswer answer) {
    return entry_for(answers, answer).name;
}
std::optional<MakersAnswer> makers_answer_named(std::string_view name) {
    return value_named(answers, name);
}
std::string_view words_for(MakersAnswer answer) {
    return entry_for(answers, answer).words;
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
std::string_view words_for(ReplyWay way) {
    return entry_for(ways, way).words;
}

}  // namespace frayhold::record
