// SPDX-License-Identifier: Apache-2.0
// What the guides tell a reader to type is what the program takes, and what they show is there.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <regex>
#include <sstream>

#include "cli/command_tree.h"

namespace frayhold {
namespace {

namespace fs = std::filesystem;

const fs::path root = FRAYHOLD_SOURCE_DIR;

std::string text_of(const fs::path& path) {
    std::ifstream file(path);
    return {std::istreambuf_iterator<char>(file), {}};
}

std::vector<fs::path> guides() {
    std::vector<fs::path> found{root / "README.md", root / "DEVELOPERS.md"};
    for (const auto& entry : fs::directory_iterator(root / "docs"))
        if (entry.path().extension() == ".md") found.push_back(entry.path());
    std::sort(found.begin(), found.end());
    return found;
}

// Code between backquotes, and the lines of indented and fenced blocks that call the program, joined where a
// line ends in a backslash.
std::vector<std::string> commands_in(const std::string& guide) {
    std::vector<std::string> commands;
    static const std::regex call(R"((?:^|[`(|;]\s*|\n\s*)frayhold ([^`\n|;#)]*))");
    std::string joined = std::regex_replace(guide, std::regex("\\\\\n\\s*"), " ");
    for (std::sregex_iterator at(joined.begin(), joined.end(), call), end; at != end; ++at)
        commands.push_back((*at)[1]);
    return commands;
}

// The words of a line of shell, quoted ones whole.
std::vector<std::string> words_of(const std::string& line) {
    std::vector<std::string> words;
    std::istringstream in(line);
    std::string word;
    while (in >> word) {
        if (const auto quote = word.find('"');
            quote != std::string::npos && std::count(word.begin(), word.end(), '"') % 2 == 1) {
            std::string rest;
            if (std::getline(in, rest, '"')) word += rest + '"';
        }
        words.push_back(word);
    }
    return words;
}

const CLI::App* below(const CLI::App& app, const std::string& name) {
    for (const CLI::App* next : app.get_subcommands([](const CLI::App*) { return true; }))
        if (next->get_name() == name) return next;
    return nullptr;
}

bool takes(const CLI::App& app, const std::string& option) {
    for (const CLI::Option* one : app.get_options([](const CLI::Option*) { return true; }))
        if (one->check_lname(option.substr(2))) return true;
    return app.get_parent() != nullptr && takes(*app.get_parent(), option);
}

// Empty where the program would take the line's command and options; else what it would not.
std::string refused(const CLI::App& tree, const std::string& line) {
    const CLI::App* command = &tree;
    for (const std::string& word : words_of(line)) {
        if (word.starts_with("--")) {
            const std::string name = word.substr(0, word.find_first_of("=,.]"));
            if (name.size() > 2 && name != "--help" && !takes(*command, name)) return name;
            continue;
        }
        if (const CLI::App* next = below(*command, word)) {
            command = next;
            continue;
        }
        // A word where only a command may stand.
        const bool group = !command->get_subcommands([](const CLI::App*) { return true; }).empty();
        const bool a_name = !word.empty() && std::islower(static_cast<unsigned char>(word[0])) != 0 &&
                            word.find_first_not_of("abcdefghijklmnopqrstuvwxyz-") == std::string::npos;
        if (group && command != &tree && a_name) return word;
        if (command == &tree) return a_name ? word : "";
    }
    return "";
}

}  // namespace

TEST_CASE("Every command in the guides is one that the program takes") {
    cli::Session session{std::cout, std::cerr, {}, {}, {}, {}, 0};
    const auto tree = cli::command_tree(session);
    std::size_t checked = 0;
    for (const fs::path& guide : guides())
        for (const std::string& line : commands_in(text_of(guide))) {
            ++checked;
            INFO(guide.filename().string() << ": frayhold " << line);
            CHECK(refused(*tree, line).empty());
        }
    CHECK(checked > 80);
    CHECK(refused(*tree, "hold opn K-1") == "opn");
    CHECK(refused(*tree, "hold open K-1 --sen x") == "--sen");
    CHECK(refused(*tree, "nothing at all") == "nothing");
}

TEST_CASE("Every picture in the guides is there, and one of the scripts makes it") {
    std::string makers =
        text_of(root / "tests" / "browser" / "make_screens.mjs");  // what docs/make-screens runs
    for (const char* script : {"make-pictures", "make-plots"}) makers += text_of(root / "docs" / script);
    static const std::regex picture(R"(\]\(((?:docs/)?pictures/([^)]+))\))");
    std::size_t checked = 0;
    for (const fs::path& guide : guides()) {
        const std::string text = text_of(guide);
        for (std::sregex_iterator at(text.begin(), text.end(), picture), end; at != end; ++at) {
            ++checked;
            const std::string name = (*at)[2];
            INFO(guide.filename().string() << ": " << name);
            CHECK(fs::exists(root / "docs" / "pictures" / name));
            CHECK(makers.find(fs::path(name).stem().string()) != std::string::npos);
        }
    }
    CHECK(checked > 8);
}

}  // namespace frayhold
