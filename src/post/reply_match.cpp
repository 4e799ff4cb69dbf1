// SPDX-License-Identifier: Apache-2.0
#include "post/reply_match.h"

#include <algorithm>
#include <cctype>
#include <set>
#include <vector>

namespace frayhold::post {
namespace {

bool word_sign(char c) {
    return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-';
}

std::string upper(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
    return text;
}

// Whether the number stands in the text with no letter, digit or dash beside it.
bool stands_in(const std::string& text, const std::string& number) {
    for (std::size_t at = text.find(number); at != std::string::npos; at = text.find(number, at + 1)) {
        const std::size_t end = at + number.size();
        if ((at == 0 || !word_sign(text[at - 1])) && (end == text.size() || !word_sign(text[end])))
            return true;
    }
    return false;
}

std::set<std::string> holds_of(const std::vector<std::string>& ids, std::span<const SentQuery> sent) {
    std::set<std::string> holds;
    for (const SentQuery& query : sent)
        if (std::find(ids.begin(), ids.end(), query.message_id) != ids.end()) holds.insert(query.hold_number);
    return holds;
}

}  // namespace

std::optional<Match> match(const ReplyMail& reply, std::span<const SentQuery> sent) {
    std::vector<std::string> direct = reply.in_reply_to;
    if (reply.delivery && !reply.delivery->original_message_id.empty())
        direct.push_back(reply.delivery->original_message_id);
    const auto only = [](const std::set<std::string>& holds, MatchedBy by) -> std::optional<Match> {
        if (holds.size() != 1) return std::nullopt;
        return Match{*holds.begin(), by};
    };
    if (const auto holds = holds_of(direct, sent); !holds.empty()) return only(holds, MatchedBy::in_reply_to);
    for (auto id = reply.references.rbegin(); id != reply.references.rend(); ++id)
        if (const auto holds = holds_of({*id}, sent); !holds.empty())
            return only(holds, MatchedBy::references);

    const std::string subject = upper(reply.subject);
    std::set<std::string> named;
    for (const SentQuery& query : sent)
        if (!query.hold_number.empty() && stands_in(subject, upper(query.hold_number)))
            named.insert(query.hold_number);
    return only(named, MatchedBy::subject);
}

}  // namespace frayhold::post
