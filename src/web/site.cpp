// SPDX-License-Identifier: Apache-2.0
#include "web/site.h"

#include "web/asking_pages.h"
#include "web/case_page.h"
#include "web/photo_pages.h"
#include "web/queue_page.h"
#include "web/verdict_page.h"

namespace frayhold::web {
namespace {

// Only what comes from this program itself may run, be shown or be asked for; nothing may frame it.
constexpr const char* policy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

void add_guards(Answer& answer) {
    answer.headers.emplace("Content-Security-Policy", policy);
    answer.headers.emplace("X-Content-Type-Options", "nosniff");
    answer.headers.emplace("X-Frame-Options", "DENY");
    // With 'no-referrer' a browser would send "Origin: null" with the program's own forms.
    answer.headers.emplace("Referrer-Policy", "same-origin");
    answer.headers.emplace("Cross-Origin-Opener-Policy", "same-origin");
    answer.headers.emplace("Cross-Origin-Resource-Policy", "same-origin");
    answer.headers.emplace("Cache-Control",
                           answer.never_changes ? "private, max-age=31536000, immutable" : "no-store");
}

Answer no_such_page() {
    return Answer::plain(404, "There is no such page.");
}

Answer asset(const Pages& pages, const std::string& name) {
    const Pages::Asset* found = pages.asset(name);
    if (found == nullptr) return no_such_page();
    return Answer::bytes(found->type, std::as_bytes(std::span(found->content)));
}

// What a phone is for: photos and findings. Letters, verdicts and other phones are for the bench.
bool for_the_bench_only(const std::vector<std::string>& words) {
    if (words.empty()) return false;
    if (words[0] == "phones") return true;
    if (words.size() < 3 || words[0] != "hold") return false;
    return words[2] == "verdict" || words[2] == "ask" || words[2] == "query" || words[2] == "reply";
}

Answer hold_route(const Visit& visit, const std::vector<std::string>& words) {
    const std::string& hold = words[1];
    const bool post = visit.is_post();
    if (words.size() == 2) return post ? no_such_page() : case_page(visit, hold);
    const std::string& what = words[2];
    if (words.size() == 3) {
        if (what == "photo") return add_photo_page(visit, hold);
        if (what == "finding") return finding_page(visit, hold);
        if (what == "ask") return ask_page(visit, hold);
        if (what == "reply") return add_reply_page(visit, hold);
        if (what == "verdict") return verdict_page(visit, hold);
        if (what == "waive" && post) return waive_page(visit, hold);
        if (what == "pulse" && !post) return case_pulse(visit, hold);
        return no_such_page();
    }
    const int number = whole_number(words[3], what);
    const std::vector<std::string> rest(words.begin() + 4, words.end());
    if (what == "photo") return photo_page(visit, hold, number, rest);
    if (what == "query") return query_page(visit, hold, number, rest);
    if (what == "reply") return reply_page(visit, hold, number, rest);
    return no_such_page();
}

}  // namespace

Site::Site(SiteSetup setup)
    : setup_(std::move(setup)),
      pages_(setup_.pages),
      gate_(setup_.bench_names, setup_.net_names),
      desks_([this](const std::string& who) { return desk::Desk(setup_.desk_for(who)); }) {
    desk::Setup bench = setup_.desk_for(setup_.who);
    criteria_ = bench.criteria;
    // A store that cannot be opened is told now, not on the first page.
    (void)desks_.lend(setup_.who);
}

std::optional<std::string> Site::holder_of(const Request& request) {
    const std::string secret = request.cookie(Gate::device_cookie);
    if (secret.empty()) return std::nullopt;
    const auto device = desks_.lend(setup_.who)->paired_device(secret);
    return device ? std::optional(device->holder) : std::nullopt;
}

std::optional<Answer> Site::refusal_by_head(const Request& request) {
    std::optional<Answer> refusal = gate_.refusal_of_host(request);
    if (!refusal && request.door == Door::net && request.path != "/pair" && request.path != "/pair/style" &&
        !holder_of(request))
        refusal = Answer::plain(403, "This phone is not paired. Ask for a code at the bench.");
    if (refusal) add_guards(*refusal);
    return refusal;
}

Answer Site::answer(const Request& request) {
    Answer answer;
    try {
        answer = route(request);
    } catch (const Failure& failure) {
        answer = Answer::plain(status_of(failure.error().fault), failure.error().sentence());
    }
    add_guards(answer);
    return answer;
}

Answer Site::route(const Request& request) {
    if (std::optional<Answer> refusal = refusal_by_head(request)) {
        refusal->headers.clear();  // they are added again to every answer
        return *std::move(refusal);
    }
    const bool by_phone = request.door == Door::net;
    if (by_phone && request.path == "/pair") {
        // The code is this form's token: a phone that is not paired has no other.
        const auto desk = desks_.lend(setup_.who);
        return pair_page(request, *desk, pages_, pairing_, setup_.net_names.scheme == "https");
    }
    if (by_phone && request.path == "/pair/style")
        return pairing_.is_good(request.field("code")) ? asset(pages_, "frayhold.css") : no_such_page();
    if (std::optional<Answer> refusal = gate_.refusal_of_post(request)) return *std::move(refusal);
    const std::vector<std::string> words = request.words();
    if (words.size() == 2 && words[0] == "assets" && request.method == "GET") return asset(pages_, words[1]);

    std::string who = setup_.who;
    if (by_phone) {
        const std::optional<std::string> holder = holder_of(request);
        if (!holder) return Answer::plain(403, "This phone is not paired. Ask for a code at the bench.");
        who = *holder;
    }
    const auto desk = desks_.lend(who);
    const Visit visit{request, *desk, pages_, shelf_, criteria_, who, gate_.token()};
    Answer answer;
    try {
        answer = routed(visit);
    } catch (const Failure& failure) {
        answer = sorry_page(visit, failure.error());
    }
    if (!by_phone && request.method == "GET" && !gate_.has_bench_cookie(request))
        answer.headers.emplace("Set-Cookie", gate_.bench_cookie_line());
    return answer;
}

Answer Site::routed(const Visit& visit) {
    const std::vector<std::string> words = visit.request.words();
    if (visit.by_phone() && for_the_bench_only(words))
        throw Failure(Fault::refused, "", "this is done at the bench, not on a phone", "go to the bench");
    if (words.empty()) return visit.is_post() ? no_such_page() : queue_page(visit);
    if (words[0] == "item" && words.size() == 1 && !visit.is_post()) return item_page(visit);
    if (words[0] == "phones" && words.size() == 1) return phones_page(visit, pairing_, setup_.net);
    if (words[0] == "hold" && words.size() == 2 && words[1] == "new") return new_hold_page(visit);
    if (words[0] == "hold" && words.size() >= 2) return hold_route(visit, words);
    return no_such_page();
}

}  // namespace frayhold::web
