// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "criteria/table.h"
#include "desk/desk.h"
#include "web/exchange.h"
#include "web/pages.h"
#include "web/photo_shelf.h"

namespace frayhold::web {

// One request on its way through a page: what is asked, by whom, and what a page may use.
struct Visit {
    const Request& request;
    desk::Desk& desk;
    const Pages& pages;
    PhotoShelf& shelf;
    std::shared_ptr<const criteria::Table> criteria;
    std::string who;
    std::string token;

    [[nodiscard]] bool by_phone() const { return request.door == Door::net; }
    [[nodiscard]] bool is_post() const { return request.method == "POST"; }

    // A page within the layout, with what every page needs added.
    [[nodiscard]] Answer page(const std::string& name, nlohmann::json data, int status = 200) const;
    // The same page once more with what went wrong at its top; what was typed stays.
    [[nodiscard]] Answer page_again(const std::string& name, nlohmann::json data, const Error& error) const;
};

// A page for something that cannot be shown.
[[nodiscard]] Answer sorry_page(const Visit& visit, const Error& error);

// 404 where something named is not there, 400 bad words, 422 bad input, 409 refused by a rule, 500 outside.
[[nodiscard]] int status_of(Fault fault);

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
