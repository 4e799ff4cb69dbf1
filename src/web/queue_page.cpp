// SPDX-License-Identifier: Apache-2.0
#include "web/queue_page.h"

#include <fmt/format.h>

#include "language/recorded.h"
#include "language/tr.h"
#include "record/hold.h"
#include "record/text.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

constexpr int lines_a_page = 50;

// What the hold waits for, in words: "waits for {waits}" on the page. The case page says it more closely.
std::string waits_for(const desk::HoldLine& line) {
    if (line.reply_to_read) return trc("waits for", "you: a reply is in, read it and enter the answer");
    switch (line.hold.state) {
        case record::HoldState::open:
            return trc("waits for", "photos and findings");
        case record::HoldState::evidence:
            return trc("waits for", "the rest of its evidence");
        case record::HoldState::ready:
            return trc("waits for", "the question to the maker");
        case record::HoldState::asked:
            if (line.overdue) return trf("the maker's reply, overdue since {}", to_text(*line.reply_due));
            return line.reply_due ? trf("the maker's reply, due {}", to_text(*line.reply_due))
                                  : tr("the maker's reply");
        case record::HoldState::answered:
            return trc("waits for", "a competent person's verdict");
        case record::HoldState::verdict:
            break;
    }
    return trc("waits for", "nothing: the verdict is given");
}

std::string query_of(const std::string& state, const std::string& words, int page) {
    std::string query = "?state=" + percent_encoded(state);
    if (!words.empty()) query += "&words=" + percent_encoded(words);
    if (page > 1) query += fmt::format("&page={}", page);
    return query;
}

json tab(const std::string& state, const std::string& words, int count, const std::string& chosen,
         const std::string& text) {
    return {{"words", words},
            {"count", count},
            {"chosen", state == chosen},
            {"href", "/" + query_of(state, text, 1)}};
}

json line_of(const desk::HoldLine& line, Date today) {
    return {{"number", line.hold.number},
            {"href", hold_path(line.hold.number)},
            {"item", line.hold.item},
            {"what", record::trimmed(line.maker + " " + line.model)},
            {"age", age_words(line.hold.opened, today)},
            {"seen", tr_recorded(line.hold.seen)},
            {"waits", waits_for(line)},
            {"urgent", line.overdue || line.reply_to_read}};
}

}  // namespace

Answer queue_page(const Visit& visit) {
    const Request& request = visit.request;
    const std::string state = request.field("state").empty() ? "running" : request.field("state");
    const std::string words = request.field("words");
    const int page =
        request.field("page").empty() ? 1 : std::max(1, whole_number(request.field("page"), tr("page")));

    const desk::HoldCounts counts = visit.desk.count_holds(words);
    json tabs = json::array({tab("running", tr("waiting"), counts.running, state, words)});
    int fitting = counts.running;
    for (const auto& [each, count] : counts.by_state) {
        const std::string name(record::name_of(each));
        if (name == state) fitting = count;
        // An empty state is no place to go.
        if (count > 0 || name == state)
            tabs.push_back(tab(name, record::words_for(each), count, state, words));
    }

    desk::HoldFilter filter;
    filter.text = words;
    filter.state = record::hold_state_named(state);
    filter.running_only = !filter.state;
    filter.limit = lines_a_page;
    filter.offset = (std::min(page, 100'000) - 1) * lines_a_page;
    json lines = json::array();
    for (const desk::HoldLine& line : visit.desk.find_holds(filter))
        lines.push_back(line_of(line, visit.desk.today()));

    const int pages = std::max(1, (fitting + lines_a_page - 1) / lines_a_page);
    json data{{"title", tr("Holds")}, {"words", words},        {"state", state},
              {"tabs", tabs},         {"none", lines.empty()}, {"searched", !words.empty()},
              {"pages", pages > 1},   {"page", page},          {"last_page", pages}};
    data["lines"] = std::move(lines);
    if (page > 1) data["earlier"] = "/" + query_of(state, words, page - 1);
    if (page < pages) data["later"] = "/" + query_of(state, words, page + 1);
    return visit.page("queue", std::move(data));
}

Answer new_hold_page(const Visit& visit) {
    const Request& request = visit.request;
    json data{{"title", tr("New hold")}, {"mark", request.field("mark")}, {"seen", request.field("seen")}};
    if (visit.is_post()) {
        try {
            const record::Hold hold = visit.desk.open_hold(request.field("mark"), request.field("seen"));
            return Answer::go_to(hold_path(hold.number));
        } catch (const Failure& failure) {
            return visit.page_again("new_hold", std::move(data), failure.error());
        }
    }
    const std::string words = request.field("words");
    data["words"] = words;
    if (!words.empty()) {
        constexpr int most = 20;
        desk::ItemFilter filter;
        filter.text = words;
        filter.limit = most;
        json items = json::array();
        for (const record::Item& item : visit.desk.find_items(filter))
            items.push_back({{"mark", item.mark},
                             {"what", record::trimmed(item.maker + " " + item.model)},
                             {"status", record::words_for(item.status)},
                             {"href", "/hold/new?mark=" + percent_encoded(item.mark)}});
        data["none"] = items.empty();
        data["items"] = std::move(items);
    }
    return visit.page("new_hold", std::move(data));
}

}  // namespace frayhold::web
