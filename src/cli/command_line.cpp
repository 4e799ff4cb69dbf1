// SPDX-License-Identifier: Apache-2.0
#include "cli/command_line.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <exception>
#include <filesystem>
#include <ostream>

#include "cli/batch_command.h"
#include "cli/camera_command.h"
#include "cli/card_command.h"
#include "cli/check_command.h"
#include "cli/copy_command.h"
#include "cli/demo_command.h"
#include "cli/finding_command.h"
#include "cli/gauge_command.h"
#include "cli/hold_command.h"
#include "cli/item_command.h"
#include "cli/journal_command.h"
#include "cli/kit_command.h"
#include "cli/maker_command.h"
#include "cli/pack_command.h"
#include "cli/person_command.h"
#include "cli/photo_command.h"
#include "cli/post_command.h"
#include "cli/query_command.h"
#include "cli/reply_command.h"
#include "cli/serve_command.h"
#include "cli/store_command.h"
#include "cli/tag_command.h"
#include "cli/verdict_command.h"
#include "cli/verify_command.h"
#include "criteria/advice.h"
#include "photo/confined.h"
#include "units/error.h"

namespace frayhold::cli {
namespace {

void add_commands(CLI::App& app, Session& session) {
    app.add_option("--store", session.store,
                   "folder of the store, or postgresql://… of a shared one; else FRAYHOLD_STORE");
    app.add_option("--photos", session.photos,
                   "folder or bucket for the photos of a shared store; else FRAYHOLD_PHOTOS");
    app.add_option("--photos-key", session.photos_key,
                   "file with the bucket's key, readable by you alone; else FRAYHOLD_PHOTOS_KEY");
    app.require_subcommand(1);
    // --store may stand anywhere in the line.
    app.fallthrough();
    app.footer(
        "Exit codes: 0 done, 2 wrong usage, 3 bad input, 4 refused by a rule of the hold, 5 outside "
        "fault.\n" +
        std::string(criteria::caution));
    add_gauge_command(app, session);
    add_card_command(app, session);
    add_camera_command(app, session);
    add_item_command(app, session);
    add_kit_command(app, session);
    add_check_command(app, session);
    add_hold_command(app, session);
    add_tag_command(app, session);
    add_finding_command(app, session);
    add_photo_command(app, session);
    add_pack_command(app, session);
    add_maker_command(app, session);
    add_query_command(app, session);
    add_reply_command(app, session);
    add_post_command(app, session);
    add_verdict_command(app, session);
    add_batch_command(app, session);
    add_store_command(app, session);
    add_person_command(app, session);
    add_journal_command(app, session);
    add_verify_command(app, session);
    add_serve_command(app, session);
    add_copy_commands(app, session);
    add_demo_command(app, session);
}

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
    CLI::App app(
        "Frayhold keeps doubtful textile fall-protection gear on hold, measures its damage on photos and\n"
        "carries the case to the maker and to a competent person's verdict.",
        "frayhold");
    add_commands(app, session);
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
