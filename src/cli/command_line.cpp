// SPDX-License-Identifier: Apache-2.0
#include "cli/command_line.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <exception>
#include <filesystem>
#include <memory>
#include <ostream>

#include "cli/command_tree.h"
#include "photo/confined.h"
#include "units/error.h"

namespace frayhold::cli {
namespace {

// The commands that read photos or mails from strangers.
void warn_where_unguarded(const CLI::App& app, Session& session) {
    if (photo::can_filter_calls()) return;
    for (const char* name : {"gauge", "camera", "photo", "pack", "query", "reply", "post", "serve"})
        if (app.got_subcommand(name))
            session.err
                << "Note: this system cannot filter system calls; photos and mails are read in a process of "
                   "their own, but nothing keeps that from the network.\n";
}

// The parser's words, but for a word that is no command: it says only that one is missing.
std::string words_for(const CLI::App& app, const CLI::ParseError& error) {
    std::string what = error.what();
    std::replace(what.begin(), what.end(), '\n', ' ');
    if (what != "A subcommand is required") return what;
    const std::vector<std::string> unknown = app.remaining(true);
    return unknown.empty() ? "a command is missing" : fmt::format("\"{}\" is no command", unknown.front());
}

int fail(Session& session, const Error& error) {
    session.err << "frayhold: " << error.sentence() << '\n';
    return static_cast<int>(error.fault);
}

}  // namespace

int run(std::vector<std::string> words, Session& session) {
    const std::unique_ptr<CLI::App> tree = command_tree(session);
    CLI::App& app = *tree;
    app.parse_complete_callback([&] { warn_where_unguarded(app, session); });
    std::reverse(words.begin(), words.end());  // as the parser takes them
    try {
        app.parse(std::move(words));
        return session.exit_code;
    } catch (const Failure& failure) {
        return fail(session, failure.error());
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() == 0) return app.exit(error, session.out, session.err);
        return fail(session, {Fault::usage, words_for(app, error), "", "see --help"});
    } catch (const std::filesystem::filesystem_error& error) {
        return fail(session, {Fault::outside, error.code().message(), error.path1().string(),
                              "check the folder and its permissions"});
    } catch (const std::bad_alloc&) {
        return fail(session, {Fault::outside, "there is not enough memory", "", "close other programs"});
    }
}

}  // namespace frayhold::cli
