// SPDX-License-Identifier: Apache-2.0
#include "web/route.h"

#include <algorithm>
#include <array>

#include "language/tr.h"
#include "web/asking_pages.h"
#include "web/batch_page.h"
#include "web/case_page.h"
#include "web/check_pages.h"
#include "web/item_pages.h"
#include "web/kit_pages.h"
#include "web/language_choice.h"
#include "web/paper_pages.h"
#include "web/phone_pages.h"
#include "web/photo_pages.h"
#include "web/post_pages.h"
#include "web/queue_page.h"
#include "web/reply_pages.h"
#include "web/verdict_page.h"

namespace frayhold::web {
namespace {

const std::string& word(const Taken& taken) {
    return taken.words.at(0);
}
int number(const Taken& taken) {
    return taken.numbers.at(0);
}

// A page that needs nothing of the path.
template <Answer (*page)(const Visit&)>
Answer whole(const Visit& visit, const Taken&) {
    return page(visit);
}
// One that needs the path's word, such as a hold's number.
template <Answer (*page)(const Visit&, const std::string&)>
Answer of_word(const Visit& visit, const Taken& taken) {
    return page(visit, word(taken));
}
template <Answer (*page)(const Visit&, const std::string&, int, const std::vector<std::string>&)>
Answer of_entry(const Visit& visit, const Taken& taken) {
    return page(visit, word(taken), number(taken), taken.rest);
}

template <Answer (*action)(const Visit&, const std::string&, int, const std::string&)>
Answer on_entry(const Visit& visit, const Taken& taken) {
    return action(visit, word(taken), number(taken), taken.words.at(1));
}

constexpr std::array table{
    Route{"GET", "", Task::look, whole<queue_page>},
    Route{"GET POST", "hold/new", Task::keep, whole<new_hold_page>},
    Route{"GET", "hold/*", Task::look, of_word<case_page>},
    Route{"GET", "hold/*/pulse", Task::look, of_word<case_pulse>},
    Route{"POST", "hold/*/waive", Task::evidence, of_word<waive_page>},
    Route{"GET POST", "hold/*/finding", Task::evidence, of_word<finding_page>},
    Route{"GET POST", "hold/*/photo", Task::evidence, of_word<add_photo_page>},
    Route{"GET", "hold/*/photo/#/**", Task::look, of_entry<photo_page>},
    Route{"POST", "hold/*/photo/#/*", Task::evidence, on_entry<photo_action>},
    Route{"GET POST", "hold/*/ask", Task::keep, of_word<ask_page>},
    Route{"GET", "hold/*/query/#/**", Task::letters, of_entry<query_page>},
    Route{"POST", "hold/*/query/#/*", Task::keep, on_entry<query_action>},
    Route{"GET POST", "hold/*/reply", Task::keep, of_word<add_reply_page>},
    Route{"GET", "hold/*/reply/#/**", Task::letters, of_entry<reply_page>},
    Route{"POST", "hold/*/reply/#/answer", Task::keep,
          [](const Visit& visit, const Taken& taken) {
              return answer_page(visit, word(taken), number(taken));
          }},
    Route{"GET POST", "hold/*/verdict", Task::decide, of_word<verdict_page>},
    Route{"GET", "hold/*/tag", Task::look, of_word<hold_tag_pdf>},
    Route{"GET POST", "batch", Task::keep, whole<batch_page>},
    Route{"GET", "items", Task::look, whole<items_page>},
    Route{"GET", "items/lives", Task::look, whole<lives_page>},
    Route{"GET", "items/destroyed", Task::look, whole<destroyed_page>},
    Route{"GET POST", "items/new", Task::keep, whole<item_form>},
    Route{"GET POST", "items/in", Task::keep, whole<import_page>},
    Route{"GET", "items/out", Task::keep, whole<export_items>},
    Route{"GET", "item", Task::look, whole<item_page>},
    Route{"GET POST", "item/edit", Task::keep, whole<item_form>},
    Route{"GET", "item/record", Task::look, whole<item_record_pdf>},
    Route{"GET", "kits", Task::look, whole<kits_page>},
    Route{"GET", "kit", Task::look, whole<kit_page>},
    Route{"POST", "kit", Task::keep, whole<kit_page>},
    Route{"GET", "checks", Task::look, whole<checks_page>},
    Route{"POST", "checks", Task::keep, whole<start_round>},
    Route{"GET POST", "checks/intervals", Task::keep, whole<intervals_page>},
    Route{"GET", "round/*", Task::look, of_word<round_page>},
    Route{"POST", "round/*", Task::keep, of_word<round_page>},
    Route{"GET", "round/*/item", Task::look, of_word<sheet_page>},
    Route{"POST", "round/*/result", Task::result, of_word<sheet_result>},
    Route{"POST", "round/*/*", Task::evidence,
          [](const Visit& visit, const Taken& taken) {
              return sheet_action(visit, word(taken), taken.words.at(1));
          }},
    Route{"GET", "print", Task::look, whole<print_page>},
    Route{"GET", "print/labels", Task::look, whole<labels_pdf>},
    Route{"GET", "print/shelf", Task::look, whole<shelf_pdf>},
    Route{"GET", "charts", Task::look, whole<charts_page>},
    Route{"GET", "post", Task::keep, whole<post_page>},
    Route{"POST", "post/run", Task::keep, whole<post_run>},
    Route{"POST", "post/mail/#", Task::keep,
          [](const Visit& visit, const Taken& taken) { return place_mail(visit, number(taken)); }},
    Route{"GET POST", "maker", Task::keep, whole<maker_page>},
    Route{"GET POST", "phones", Task::bench, whole<phones_page>},
    Route{"POST", "language", Task::look, whole<choose_language>},
};

// The words between the slashes of a route's path.
std::vector<std::string_view> signs_of(std::string_view path) {
    std::vector<std::string_view> signs;
    while (!path.empty()) {
        const std::size_t end = std::min(path.find('/'), path.size());
        signs.push_back(path.substr(0, end));
        path.remove_prefix(std::min(end + 1, path.size()));
    }
    return signs;
}

// A whole number as a path has it: no sign, at most nine digits.
std::optional<int> number_in(const std::string& text) {
    constexpr std::size_t most_digits = 9;
    if (text.empty() || text.size() > most_digits) return std::nullopt;
    int value = 0;
    for (const char c : text) {
        if (c < '0' || c > '9') return std::nullopt;
        value = 10 * value + (c - '0');
    }
    return value;
}

std::optional<Taken> taken_by(std::string_view path, const std::vector<std::string>& words) {
    const std::vector<std::string_view> signs = signs_of(path);
    Taken taken;
    for (std::size_t i = 0; i < signs.size(); ++i) {
        if (signs[i] == "**") {
            taken.rest.assign(words.begin() + static_cast<std::ptrdiff_t>(i), words.end());
            return taken;
        }
        if (i == words.size()) return std::nullopt;
        if (signs[i] == "*") {
            taken.words.push_back(words[i]);
        } else if (signs[i] == "#") {
            const std::optional<int> value = number_in(words[i]);
            if (!value) return std::nullopt;
            taken.numbers.push_back(*value);
        } else if (signs[i] != words[i]) {
            return std::nullopt;
        }
    }
    if (words.size() != signs.size()) return std::nullopt;
    return taken;
}

}  // namespace

std::span<const Route> routes() {
    return table;
}

Answer routed(const Visit& visit) {
    const std::vector<std::string> words = visit.request.words();
    for (const Route& route : routes()) {
        if (route.methods.find(visit.request.method) == std::string_view::npos) continue;
        const std::optional<Taken> taken = taken_by(route.path, words);
        if (!taken) continue;
        if (!visit.may(route.task))
            return sorry_page(visit,
                              {Fault::refused, refusal_words(*visit.holder, route.task), "",
                               tr("ask at the bench for a phone of your own")},
                              403);
        return route.answer(visit, *taken);
    }
    return Answer::plain(404, tr("There is no such page."));
}

}  // namespace frayhold::web
