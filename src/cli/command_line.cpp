// SPDX-License-Identifier: Apache-2.0
#include "cli/command_line.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <exception>
#include <filesystem>
#include <memory>
#include <ostream>
#include <tuple>
#include <utility>

#include "cli/words.h"
#include "language/error_words.h"
#include "language/tr.h"
#include "photo/confined.h"
#include "units/error.h"

namespace frayhold::cli {
namespace {

// The commands that read photos or mails from strangers.
void warn_where_unguarded(const CLI::App& app, Session& session) {
    if (photo::can_filter_calls()) return;
    constexpr std::array readers{"gauge", "camera", "photo", "pack", "query", "reply", "post", "serve"};
    for (const CLI::App* command : app.get_subcommands())
        if (std::find(readers.begin(), readers.end(), command->get_name()) != readers.end())
            session.err << tr("Note: this system cannot filter system calls; photos and mails are read in a "
                              "process of their own, but nothing keeps that from the network.")
                        << '\n';
}

// "--limit" and "x" of "--limit = x". The parser puts the names of its options into English sentences and
// keeps them nowhere else.
std::pair<std::string, std::string> parted(const std::string& text, const std::string& at) {
    const std::size_t end = std::min(text.find(at), text.size());
    return {text.substr(0, end), end < text.size() ? text.substr(end + at.size()) : ""};
}

std::string missing_words(const CLI::App& app, const std::string& what) {
    if (what != "A subcommand is required") return trf("{} is required", parted(what, " is required").first);
    const std::vector<std::string> unknown = app.remaining(true);
    return unknown.empty() ? tr("a command is missing") : trf("\"{}\" is no command", unknown.front());
}

bool takes_value(const CLI::App& app, const std::string& name) {
    const std::vector<CLI::App*> commands = app.get_subcommands();
    if (!commands.empty() && !takes_value(*commands.front(), name)) return false;
    const CLI::Option* const option = app.get_option_no_throw(name);
    return option == nullptr || option->get_items_expected_max() > 0;
}

// What the parser says, in the language in force.
Error error_of(const CLI::App& app, const CLI::ParseError& error) {
    std::string what = error.what();
    std::replace(what.begin(), what.end(), '\n', ' ');
    std::string where;
    if (dynamic_cast<const CLI::RequiredError*>(&error) != nullptr) {
        what = missing_words(app, what);
    } else if (dynamic_cast<const CLI::ExtrasError*>(&error) != nullptr) {
        const std::vector<std::string> extras = app.remaining(true);
        what = trn("The following argument was not expected: {1}",
                   "The following arguments were not expected: {1}", extras.size(), joined(extras, " "));
    } else if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr) {
        const bool is_too_much = what.find("At Most") != std::string::npos;
        where = parted(what, ": ").first;
        what = is_too_much ? tr("it is given more than once") : tr("its value is missing");
    } else if (dynamic_cast<const CLI::ConversionError*>(&error) != nullptr) {
        const auto [name, value] = parted(parted(what, "Could not convert: ").second, " = ");
        where = name.empty() ? parted(what, ": ").first : name;
        what = takes_value(app, where) ? trf("\"{}\" is not a whole number", value) : tr("it takes no value");
    } else if (dynamic_cast<const CLI::ValidationError*>(&error) != nullptr) {
        std::tie(where, what) = parted(what, ": ");
        // As the parser's own ranges have it; other checks say in words of ours what is wrong.
        if (what.starts_with("Value ") && what.find(" not in range ") != std::string::npos)
            what =
                trf("\"{}\" is out of range", parted(parted(what, "Value ").second, " not in range ").first);
    } else if (dynamic_cast<const CLI::RequiresError*>(&error) != nullptr) {
        const auto [name, other] = parted(what, " requires ");
        what = trf("{} requires {}", name, other);
    } else if (dynamic_cast<const CLI::ExcludesError*>(&error) != nullptr) {
        const auto [name, other] = parted(what, " excludes ");
        what = trf("{} and {} cannot be given together", name, other);
    }
    return {Fault::usage, what, where, tr("see --help")};
}

int fail(Session& session, const Error& error) {
    session.err << "frayhold: " << error_words(error) << '\n';
    return static_cast<int>(error.fault);
}

}  // namespace

int run(std::vector<std::string> words, Session& session, const TreeMaker& tree) {
    const language::Speaking speaking(session.catalogue);
    const std::unique_ptr<CLI::App> made = tree(session);
    CLI::App& app = *made;
    app.parse_complete_callback([&] { warn_where_unguarded(app, session); });
    std::reverse(words.begin(), words.end());  // as the parser takes them
    try {
        app.parse(std::move(words));
        return session.exit_code;
    } catch (const Failure& failure) {
        return fail(session, failure.error());
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() == 0) return app.exit(error, session.out, session.err);
        return fail(session, error_of(app, error));
    } catch (const std::filesystem::filesystem_error& error) {
        return fail(session, {Fault::outside, system_words(error.code()), error.path1().string(),
                              tr("check the folder and its permissions")});
    } catch (const std::bad_alloc&) {
        return fail(session,
                    {Fault::outside, tr("there is not enough memory"), "", tr("close other programs")});
    }
}

}  // namespace frayhold::cli
