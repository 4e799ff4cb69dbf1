// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <iosfwd>
#include <memory>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "desk/desk.h"
#include "language/languages.h"
#include "units/date.h"

namespace CLI {
class App;
}

namespace frayhold::cli {

// What every command may use: where it prints, and what the words before the command said.
struct Session {
    std::ostream& out;
    std::ostream& err;
    std::function<Time()> clock;  // the system's clock where empty
    std::string store;            // from --store or FRAYHOLD_STORE
    std::string photos;           // from --photos or FRAYHOLD_PHOTOS
    std::string photos_key;       // from --photos-key or FRAYHOLD_PHOTOS_KEY
    int exit_code = 0;            // set by a command that printed its result and still has to fail
    // Of the language the commands speak; null for English.
    const language::Catalogue* catalogue = nullptr;
    // Those that the bench may speak; null for English alone.
    std::shared_ptr<language::Languages> languages{};
};

// Throws Failure (Fault::usage) where no store is named, or none that can be.
[[nodiscard]] store::Location store_of(const Session& session);

// Opens the store for a person. Throws Failure (Fault::usage) where no store is named.
[[nodiscard]] desk::Desk open_desk(const Session& session, const std::string& who = {});

// By the session's clock.
[[nodiscard]] Time now(const Session& session);

// The option --by of every command that writes.
void add_by_option(CLI::App& command, std::string& who);

// The caution at the end of a deciding command's --help.
void add_caution(CLI::App& command);

void print_json(std::ostream& out, const nlohmann::ordered_json& json);

}  // namespace frayhold::cli
