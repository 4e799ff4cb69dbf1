// SPDX-License-Identifier: Apache-2.0
#include "web/site.h"

#include "language/error_words.h"
#include "language/speaking.h"
#include "language/tr.h"
#include "web/language_choice.h"
#include "web/phone_pages.h"
#include "web/route.h"

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
    return Answer::plain(404, tr("There is no such page."));
}

Answer asset(const Pages& pages, const std::string& name) {
    const Pages::Asset* found = pages.asset(name);
    if (found == nullptr) return no_such_page();
    return Answer::bytes(found->type, std::as_bytes(std::span(found->content)));
}

Answer not_paired() {
    return Answer::plain(403, tr("This phone is not paired. Ask for a code at the bench."));
}

bool is_pairing(const Request& request) {
    return request.path == "/pair" || request.path == "/pair/style";
}

}  // namespace

Site::Site(SiteSetup setup)
    : setup_(std::move(setup)),
      house_{Pages(setup_.pages), {}, {}, nullptr, {}, setup_.net, setup_.post, setup_.outfit,
             setup_.languages},
      gate_(setup_.bench_names, setup_.net_names),
      desks_([this](const std::string& who) { return desk::Desk(setup_.desk_for(who)); }) {
    house_.criteria = setup_.desk_for(setup_.who).criteria;
    // A store that cannot be opened is told now, not on the first page.
    (void)desks_.lend(setup_.who);
}

std::optional<record::Device> Site::device_of(const Request& request) {
    const std::string secret = request.cookie(Gate::device_cookie);
    if (secret.empty()) return std::nullopt;
    return desks_.lend(setup_.who)->paired_device(secret);
}

std::optional<Answer> Site::refusal_by_head(const Request& request) {
    const language::Speaking speaking(language_for(request, setup_.languages.get()));
    std::optional<Answer> refusal = gate_.refusal_of_host(request);
    if (!refusal && request.door == Door::net) {
        if (is_pairing(request))
            refusal = Gate::refusal_of_stranger(request);
        else if (!device_of(request))
            refusal = not_paired();
    }
    if (refusal) add_guards(*refusal);
    return refusal;
}

Answer Site::answer(const Request& request) {
    const language::Speaking speaking(language_for(request, setup_.languages.get()));
    Answer answer;
    try {
        answer = route(request);
    } catch (const Failure& failure) {
        answer = Answer::plain(status_of(failure.error().fault), error_words(failure.error()));
    }
    add_guards(answer);
    return answer;
}

Answer Site::paired(const Request& request) {
    if (!house_.pairing.may_try(request.from))
        return Answer::plain(429, tr("Too many tries. Wait a minute, then ask for a code at the bench."));
    if (request.path == "/pair/style")
        return house_.pairing.is_good(request.field("code")) ? asset(house_.pages, "frayhold.css")
                                                             : no_such_page();
    // The code is this form's token: a phone that is not paired has no other.
    const auto desk = desks_.lend(setup_.who);
    return pair_page(request, *desk, house_.pages, house_.pairing, setup_.net_names.scheme == "https");
}

Answer Site::route(const Request& request) {
    if (std::optional<Answer> refusal = refusal_by_head(request)) {
        refusal->headers.clear();  // they are added again to every answer
        return *std::move(refusal);
    }
    const bool by_phone = request.door == Door::net;
    if (by_phone && is_pairing(request)) return paired(request);
    if (std::optional<Answer> refusal = gate_.refusal_of_post(request)) return *std::move(refusal);
    const std::vector<std::string> words = request.words();
    if (words.size() == 2 && words[0] == "assets" && request.method == "GET")
        return asset(house_.pages, words[1]);

    std::string who = setup_.who;
    Holder holder;
    if (by_phone) {
        const std::optional<record::Device> device = device_of(request);
        if (!device) return not_paired();
        who = device->holder;
        holder = device->role;
    }
    const auto desk = desks_.lend(who);
    const Visit visit{request, *desk, house_, who, holder, gate_.token()};
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

}  // namespace frayhold::web
