// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "desk/desk.h"
#include "language/languages.h"
#include "web/desk_pool.h"
#include "web/exchange.h"
#include "web/gate.h"
#include "web/visit.h"

namespace frayhold::web {

struct SiteSetup {
    // The desk of a person: the one at the bench, or the holder of a phone.
    std::function<desk::Setup(const std::string& who)> desk_for;
    std::string who;                           // the person at the bench
    std::vector<std::filesystem::path> pages;  // where the pages may lie, the nearest first
    DoorNames bench_names;
    DoorNames net_names;                             // empty where the bench is not open to the local network
    std::optional<NetDoor> net;                      // likewise
    std::optional<PostDoor> post;                    // empty: letters are sent by hand
    std::string outfit;                              // may be empty
    std::shared_ptr<language::Languages> languages;  // empty: English only
};

// Everything the web face answers, free of any HTTP library, each in the language that the one who asks has
// chosen or would like. Safe for several threads. Every write goes through an action of the desk; nothing is
// ever fetched from elsewhere.
class Site {
  public:
    // Throws Failure where the pages or the store cannot be opened.
    explicit Site(SiteSetup setup);

    // Who may not come in is turned away by the request's head alone, so that no large body is read for
    // nothing. Nothing where the request may go on.
    [[nodiscard]] std::optional<Answer> refusal_by_head(const Request& request);

    [[nodiscard]] Answer answer(const Request& request);

    [[nodiscard]] Pairing& pairing() { return house_.pairing; }

  private:
    [[nodiscard]] Answer route(const Request& request);
    [[nodiscard]] Answer paired(const Request& request);
    // The phone that asks; nothing where it is not paired.
    [[nodiscard]] std::optional<record::Device> device_of(const Request& request);

    SiteSetup setup_;
    House house_;
    Gate gate_;
    DeskPool desks_;
};

}  // namespace frayhold::web
