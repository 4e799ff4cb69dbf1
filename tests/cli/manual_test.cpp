// SPDX-License-Identifier: Apache-2.0
#include "cli/manual.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <catch2/catch.hpp>
#include <iostream>
#include <map>
#include <set>
#include <sstream>

#include "cli/command_tree.h"
#include "cli/program.h"

namespace frayhold::cli {
namespace {

Session nowhere() {
    return Session{std::cout, std::cerr, {}, {}, {}, {}, 0};
}

// Every command that does something: "frayhold hold open".
void collect(const CLI::App& app, const std::string& path, std::map<std::string, const CLI::App*>& commands) {
    const auto below = app.get_subcommands([](const CLI::App*) { return true; });
    if (below.empty()) commands.emplace(path, &app);
    for (const CLI::App* next : below) collect(*next, path + " " + next->get_name(), commands);
}

std::map<std::string, const CLI::App*> commands_of(const CLI::App& tree) {
    std::map<std::string, const CLI::App*> commands;
    collect(tree, "frayhold", commands);
    return commands;
}

// What bash offers with the folder's script loaded, for the words of a line of which the last is being
// written.
std::set<std::string> offered(const program::Folder& folder, const std::string& words, int last) {
    const program::Ran ran = folder.shell(fmt::format(
        "bash -c 'source frayhold.bash; COMP_WORDS=({}); COMP_CWORD={}; _frayhold; printf \"%s\\n\" "
        "\"${{COMPREPLY[@]}}\"'",
        words, last));
    std::istringstream lines(ran.out);
    std::set<std::string> found;
    for (std::string line; std::getline(lines, line);)
        if (!line.empty()) found.insert(line);
    return found;
}

}  // namespace

TEST_CASE("The manual page names every command with its options, and the caution") {
    Session session = nowhere();
    const auto tree = command_tree(session);
    const std::string page = manual_page(*tree, "1.2.3");
    const auto commands = commands_of(*tree);
    CHECK(commands.size() > 60);
    for (const auto& [path, command] : commands) {
        INFO(path);
        const std::size_t section = page.find(fmt::format(".SS \"{}\"\n", path));
        REQUIRE(section != std::string::npos);
        const std::string text = page.substr(section, page.find(".SS", section + 1) - section);
        for (const CLI::Option* option : command->get_options([](const CLI::Option*) { return true; }))
            for (const std::string& name : option->get_lnames())
                if (name != "help") {
                    std::string escaped;
                    for (const char c : "--" + name)
                        escaped += c == '-' ? std::string("\\-") : std::string(1, c);
                    CHECK(text.find(escaped) != std::string::npos);
                }
    }
    CHECK(page.find("frayhold 1.2.3") != std::string::npos);
    CHECK(page.find("competent person") != std::string::npos);
    CHECK(page.find("\n.B LANGUAGE\n") != std::string::npos);
}

// By man-db, as Debian's own checks of packages do.
TEST_CASE("man finds nothing wrong with the page") {
    const program::Folder folder;
    Session session = nowhere();
    folder.write("frayhold.1", manual_page(*command_tree(session), "1"));
    const program::Ran man = folder.shell(
        "LC_ALL=C.UTF-8 MANROFFSEQ= MANWIDTH=80 man --warnings -E UTF-8 -l -Tutf8 -Z frayhold.1 >page");
    CHECK(man.exit_code == 0);
    CHECK(man.err.empty());
    CHECK(!folder.read("page").empty());
}

TEST_CASE("bash offers the commands and options that there are") {
    const program::Folder folder;
    Session session = nowhere();
    const auto tree = command_tree(session);
    folder.write("frayhold.bash", bash_completion(*tree));
    CHECK(offered(folder, "frayhold ho", 1) == std::set<std::string>{"hold"});
    CHECK(offered(folder, "frayhold hold o", 2) == std::set<std::string>{"open"});
    CHECK(offered(folder, "frayhold --store x hold open K-1 --se", 6) == std::set<std::string>{"--seen"});
    CHECK(offered(folder, "frayhold no", 1).empty());
    const std::set<std::string> first = offered(folder, "frayhold \"\"", 1);
    for (const CLI::App* command : tree->get_subcommands([](const CLI::App*) { return true; }))
        CHECK(first.count(command->get_name()) == 1);
}

}  // namespace frayhold::cli
