// SPDX-License-Identifier: Apache-2.0
#include "post/reply_match.h"

#include <algorithm>
#include <cctype>
#include <set>
#include <string_view>

namespace frayhold::post {
namespace {

bool digit(char c) {
    return c >= '0' && c <= '9';
}

bool word_sign(char c) {
    return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-';
}

std::string upper(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
    return text;
}

// "H-", four digits of the year, "-", four digits or more.
bool is_hold_number(std::string_view word) {
    constexpr std::size_t year_end = 6;
    constexpr std::size_t shortest = year_end + 5;
    return word.size() >= shortest && word.starts_with("H-") && word[year_end] == '-' &&
           std::all_of(word.begin() + 2, word.begin() + year_end, digit) &&
           std::all_of(word.begin() + year_end + 1, word.end(), digit);
}

// The hold numbers that stand in the text with no letter, digit or dash beside them.
void add_hold_numbers(std::vector<std::string>& numbers, const std::string& text) {
    const std::string capitals = upper(text);
    auto at = capitals.begin();
    while (at != capitals.end()) {
        const auto from = std::find_if(at, capitals.end(), word_sign);
        at = std::find_if_not(from, capitals.end(), word_sign);
        const std::string word(from, at);
        if (is_hold_number(word) && std::find(numbers.begin(), numbers.end(), word) == numbers.end())
            numbers.push_back(word);
    }
}

std::string address_tag(const std::string& address) {
    const std::size_t plus = address.find('+');
    const std::size_t at = address.rfind('@');
    return plus == std::string::npos || at == std::string::npos || at < plus
               ? std::string()
               : address.substr(plus + 1, at - plus - 1);
}

}  // namespace

HoldClues hold_clues(const ReplyMail& reply) {
    HoldClues clues;
    clues.in_reply_to = reply.in_reply_to;
    if (reply.delivery && !reply.delivery->original_message_id.empty())
        clues.in_reply_to.push_back(reply.delivery->original_message_id);
    clues.references.assign(reply.references.rbegin(), reply.references.rend());
    add_hold_numbers(clues.hold_numbers, reply.subject);
    for (const Mailbox& mailbox : reply.to)
        add_hold_numbers(clues.hold_numbers, address_tag(mailbox.address));
    return clues;
}

std::optional<Match> match(const HoldClues& clues, const HoldOfQuery& hold_of_query,
                           const IsAskedHold& is_asked_hold) {
    std::set<std::string> holds;
    const auto take = [&](const std::string& id) {
        if (const auto hold = hold_of_query(id)) holds.insert(*hold);
    };
    const auto only = [&](MatchedBy by) -> std::optional<Match> {
        if (holds.size() != 1) return std::nullopt;
        return Match{*holds.begin(), by};
    };
    for (const std::string& id : clues.in_reply_to) take(id);
    if (!holds.empty()) return only(MatchedBy::in_reply_to);
    for (const std::string& id : clues.references) {
        take(id);
        if (!holds.empty()) return only(MatchedBy::references);
    }
    for (const std::string& number : clues.hold_numbers)
        if (is_asked_hold(number)) holds.insert(number);
    return only(MatchedBy::number);
}

}  // namespace frayhold::post
