// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "criteria/table.h"
#include "desk/desk.h"
#include "desk/posting.h"
#include "language/languages.h"
#include "web/exchange.h"
#include "web/pages.h"
#include "web/pairing.h"
#include "web/photo_shelf.h"
#include "web/task.h"
#include "web/text_shelf.h"

namespace frayhold::web {

// The mail account behind the bench.
struct PostDoor {
    std::string from;                          // "Ida Fenwright <ida@korreltrees.example>"
    desk::MessageSender send;                  // empty: the account does not send
    std::optional<desk::ReplyFolder> replies;  // empty: it does not fetch
};

// What the pages share from the start of the program to its end.
struct House {
    Pages pages;
    PhotoShelf photos;
    TextShelf texts;
    std::shared_ptr<const criteria::Table> criteria;
    Pairing pairing;
    std::optional<NetDoor> net;
    std::optional<PostDoor> post;
    std::string outfit;                              // "Korrel Tree Crew"; may be empty
    std::shared_ptr<language::Languages> languages;  // empty: English only
};

// One request on its way through a page: what is asked, by whom, and what a page may use.
struct Visit {
    const Request& request;
    desk::Desk& desk;
    House& house;
    std::string who;
    Holder holder;
    std::string token;

    [[nodiscard]] bool by_phone() const { return request.door == Door::net; }
    [[nodiscard]] bool is_post() const { return request.method == "POST"; }
    [[nodiscard]] bool may(Task task) const { return web::may(holder, task); }

    // A page within the layout, with what every page needs added.
    [[nodiscard]] Answer page(const std::string& name, nlohmann::json data, int status = 200) const;
    // The same page once more with what went wrong at its top; what was typed stays.
    [[nodiscard]] Answer page_again(const std::string& name, nlohmann::json data, const Error& error) const;
};

// A page for something that cannot be shown.
[[nodiscard]] Answer sorry_page(const Visit& visit, const Error& error);
[[nodiscard]] Answer sorry_page(const Visit& visit, const Error& error, int status);

// 404 where something named is not there, 400 bad words, 422 bad input, 409 refused by a rule, 500 outside.
[[nodiscard]] int status_of(Fault fault);

// A download or a PDF to look at that the desk has made: nothing in it comes from a stranger.
[[nodiscard]] Answer own_pdf(const std::string& file_name, std::span<const std::byte> bytes);

// "2026-02-28".
[[nodiscard]] std::string day_words(Time time);
// "3 days", "today".
[[nodiscard]] std::string age_words(Time since, Date today);

[[nodiscard]] std::string hold_path(const std::string& hold);

// A whole number in a path or field. Throws Failure (Fault::input) naming it.
[[nodiscard]] int whole_number(const std::string& text, const std::string& name);
// "3.2 m", "320 cm", "85 mm", "3,2": metres where no unit is given. Empty text is no length. Throws Failure
// (Fault::input) naming the field.
[[nodiscard]] std::optional<Millimetres> length_typed(const std::string& text, const std::string& name);

}  // namespace frayhold::web
