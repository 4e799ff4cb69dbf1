// SPDX-License-Identifier: Apache-2.0
#include "web/thread.h"

#include <fmt/format.h>

#include <algorithm>

#include "language/recorded.h"
#include "language/tr.h"
#include "record/text.h"
#include "web/visit.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

// The beginning of a message, in one line.
std::string beginning(const std::string& text) {
    constexpr std::size_t most = 180;
    std::string line = record::as_plain_text(text.substr(0, 4 * most));
    std::replace(line.begin(), line.end(), '\n', ' ');
    line = record::trimmed(line);
    if (line.size() <= most) return line;
    std::size_t end = most;
    // Not within a letter of several bytes.
    while (end > 0 && (static_cast<unsigned char>(line[end]) & 0xC0U) == 0x80U) --end;
    return line.substr(0, end) + " …";
}

json query_line(const record::Query& query, const std::string& hold) {
    const bool open = query.posting && (query.posting->state == record::PostState::unsure ||
                                        query.posting->state == record::PostState::refused);
    return {{"letter", true},
            {"number", query.number},
            {"name", trf("Letter {}", query.number)},
            {"party", trf("to {}", query.to)},
            {"state", state_words(query)},
            {"urgent", open && !query.sent},
            {"words", query.subject},
            {"sort", to_text(query.sent.value_or(query.made))},
            {"day", day_words(query.sent.value_or(query.made))},
            {"href", fmt::format("{}/query/{}", hold_path(hold), query.number)}};
}

json reply_line(const record::Reply& reply, const record::CaseFile& file) {
    const bool to_read = !reply.answer && !reply.automatic && !file.verdict;
    std::string state;
    if (!reply.delivery.empty())
        state = trf("a delivery report, not an answer: {}", tr_recorded(reply.delivery));
    else if (reply.automatic)
        state = tr("automatic: not an answer");
    else if (reply.answer && reply.answer->limit.empty())
        state = trf("read as: {}", record::words_for(reply.answer->answer));
    else if (reply.answer)
        state = trf("read as: {}, {}", record::words_for(reply.answer->answer), reply.answer->limit);
    json line{{"reply", true},
              {"number", reply.number},
              {"name", trf("Reply {}", reply.number)},
              {"party", trf("from {}", reply.from)},
              {"state", state},
              {"unread", to_read},
              {"words", beginning(reply.text)},
              {"sort", to_text(reply.received)},
              {"day", day_words(reply.received)},
              {"href", fmt::format("{}/reply/{}", hold_path(file.hold.number), reply.number)}};
    if (!reply.attachments.empty())
        line["attached"] = trn("{} file attached", "{} files attached", reply.attachments.size());
    return line;
}

}  // namespace

json thread_of(const record::CaseFile& file, const std::string& here) {
    json thread = json::array();
    for (const record::Query& query : file.queries) thread.push_back(query_line(query, file.hold.number));
    for (const record::Reply& reply : file.replies) thread.push_back(reply_line(reply, file));
    for (json& line : thread) line["here"] = line.at("href") == here;
    std::stable_sort(thread.begin(), thread.end(),
                     [](const json& a, const json& b) { return a.at("sort") < b.at("sort"); });
    return thread;
}

std::string state_words(const record::Query& query) {
    if (query.sent && query.reply_due)
        return trf("sent {}, reply due {}", day_words(*query.sent), to_text(*query.reply_due));
    if (query.sent) return trf("sent {}", day_words(*query.sent));
    if (!query.posting) return tr("not sent yet");
    const std::string words = record::words_for(query.posting->state);
    if (!query.posting->next_try) return words;
    return trf("{}, next try {}", words, minute_words(*query.posting->next_try));
}

std::string size_words(std::size_t bytes) {
    constexpr double kilo = 1000.0;
    if (bytes < 1000) return trn("{} byte", "{} bytes", bytes);
    if (bytes < 1'000'000) return trf("{:.0f} kB", static_cast<double>(bytes) / kilo);
    return trf("{:.1f} MB", static_cast<double>(bytes) / kilo / kilo);
}

}  // namespace frayhold::web
