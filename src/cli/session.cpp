// SPDX-License-Identifier: Apache-2.0
#include "cli/session.h"

#include <CLI/CLI.hpp>
#include <chrono>
#include <nlohmann/json.hpp>
#include <ostream>

#include "criteria/advice.h"
#include "desk/usual_setup.h"
#include "language/tr.h"

namespace frayhold::cli {

store::Location store_of(const Session& session) {
    if (session.store.empty())
        throw Failure(Fault::usage, "--store", "no store is named", "give --store DIR or set FRAYHOLD_STORE");
    return store::location_of(session.store, session.photos, session.photos_key);
}

desk::Desk open_desk(const Session& session, const std::string& who) {
    desk::Setup setup = desk::usual_setup(store_of(session), who);
    if (session.clock) setup.clock = session.clock;
    return desk::Desk(std::move(setup));
}

Time now(const Session& session) {
    return session.clock ? session.clock()
                         : std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
}

void add_by_option(CLI::App& command, std::string& who) {
    command.add_option("--by", who, tr("your name, for the journal; else FRAYHOLD_BY"))
        ->envname("FRAYHOLD_BY")
        ->required();
}

void add_caution(CLI::App& command) {
    command.footer(tr_word(criteria::caution));
}

void print_json(std::ostream& out, const nlohmann::ordered_json& json) {
    constexpr int indent = 1;
    out << json.dump(indent, ' ', false, nlohmann::ordered_json::error_handler_t::replace) << '\n';
}

}  // namespace frayhold::cli
