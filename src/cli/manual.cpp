// SPDX-License-Identifier: Apache-2.0
#include "cli/manual.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <string_view>
#include <utility>
#include <vector>

namespace frayhold::cli {
namespace {

// Text for man: what would be a request or an escape is taken as it stands, and a hyphen is one.
std::string roff(std::string_view text) {
    std::string out;
    bool line_begins = true;
    for (const char c : text) {
        if (line_begins && (c == '.' || c == '\'')) out += "\\&";
        if (c == '\\')
            out += "\\e";
        else if (c == '-')
            out += "\\-";
        else
            out += c;
        line_begins = c == '\n';
    }
    return out;
}

std::string as_argument(std::string_view text) {
    std::string out;
    for (const char c : roff(text)) out += c == '"' ? std::string("\\(dq") : std::string(1, c);
    return '"' + out + '"';
}

std::vector<const CLI::App*> commands_of(const CLI::App& app) {
    return app.get_subcommands([](const CLI::App*) { return true; });
}

std::vector<const CLI::Option*> options_of(const CLI::App& app) {
    return app.get_options([](const CLI::Option*) { return true; });
}

// "--seen TEXT", "HOLD".
std::string term_of(const CLI::Option& option) {
    const std::string name = option.get_positional() ? option.get_name(true) : option.get_name(false, true);
    const bool takes_value = !option.get_positional() && option.get_items_expected_max() > 0;
    return takes_value ? fmt::format("{} {}", name, option.get_type_name()) : name;
}

// "MARK --seen TEXT [--by TEXT]".
std::string words_after(const CLI::App& command) {
    std::string words;
    for (const CLI::Option* option : options_of(command)) {
        if (option->get_name() == "--help") continue;
        const std::string term = term_of(*option);
        words += option->get_required() ? fmt::format(" {}", term) : fmt::format(" [{}]", term);
    }
    return words;
}

void write_options(std::string& page, const CLI::App& command) {
    for (const CLI::Option* option : options_of(command)) {
        if (option->get_name() == "--help") continue;
        page +=
            fmt::format(".TP\n.B {}\n{}\n", as_argument(term_of(*option)), roff(option->get_description()));
    }
}

void write_command(std::string& page, const CLI::App& command, const std::string& path) {
    const std::vector<const CLI::App*> below = commands_of(command);
    if (below.empty()) {
        page += fmt::format(".SS {}\n{}.\n.PP\n.nh\n.ad l\n.B {}\n.ad b\n.hy\n", as_argument(path),
                            roff(command.get_description()), as_argument(path + words_after(command)));
        write_options(page, command);
        if (!command.get_footer().empty()) page += fmt::format(".PP\n{}\n", roff(command.get_footer()));
        return;
    }
    for (const CLI::App* next : below) write_command(page, *next, path + " " + next->get_name());
}

// The variables that options are read from, by name.
std::vector<std::pair<std::string, std::string>> variables_of(const CLI::App& command) {
    std::vector<std::pair<std::string, std::string>> variables;
    for (const CLI::Option* option : options_of(command))
        if (!option->get_envname().empty()) variables.emplace_back(option->get_envname(), option->get_name());
    for (const CLI::App* next : commands_of(command))
        for (auto& variable : variables_of(*next)) variables.push_back(std::move(variable));
    std::sort(variables.begin(), variables.end());
    variables.erase(std::unique(variables.begin(), variables.end()), variables.end());
    return variables;
}

// Entries of the completion's table: "frayhold hold open" and the words that may follow.
void write_words(std::string& script, const CLI::App& command, const std::string& path) {
    std::string words;
    for (const CLI::App* next : commands_of(command)) words += next->get_name() + " ";
    for (const CLI::Option* option : options_of(command))
        if (!option->get_positional())
            for (const std::string& name : option->get_lnames()) words += "--" + name + " ";
    if (!words.empty()) words.pop_back();
    script += fmt::format("    ['{}']='{}'\n", path, words);
    for (const CLI::App* next : commands_of(command))
        write_words(script, *next, path + " " + next->get_name());
}

}  // namespace

std::string manual_page(const CLI::App& tree, const std::string& version) {
    std::string page = fmt::format(
        ".\\\" SPDX-License-Identifier: Apache-2.0\n.TH FRAYHOLD 1 \"\" {} \"User Commands\"\n.SH NAME\n"
        "frayhold \\- hold doubtful fall\\-protection gear, measure its damage, carry the case to a verdict\n"
        ".SH SYNOPSIS\n.B frayhold\n[\\fB\\-\\-store\\fR \\fISTORE\\fR]\n\\fICOMMAND\\fR ...\n.SH "
        "DESCRIPTION\n{}\n",
        as_argument("frayhold " + version), roff(tree.get_description()));
    page += ".SH OPTIONS\n";
    write_options(page, tree);
    page += ".SH COMMANDS\n";
    for (const CLI::App* command : commands_of(tree))
        write_command(page, *command, "frayhold " + command->get_name());
    page += ".SH ENVIRONMENT\n";
    for (const auto& [variable, option] : variables_of(tree))
        page += fmt::format(".TP\n.B {}\nstands for {} where that is not given.\n", variable, roff(option));
    for (const auto& [variable, option] :
         {std::pair("FRAYHOLD_STORE", "--store"), std::pair("FRAYHOLD_PHOTOS", "--photos"),
          std::pair("FRAYHOLD_PHOTOS_KEY", "--photos-key")})
        page += fmt::format(".TP\n.B {}\nstands for {} where that is not given.\n", variable, roff(option));
    page +=
        ".TP\n.B LANGUAGE\n.TQ\n.B LC_ALL\n.TQ\n.B LC_MESSAGES\n.TQ\n.B LANG\n"
        "choose the language that the program speaks, as for gettext(1). What other programs read stays "
        "English.\n";
    page +=
        ".SH EXIT STATUS\n"
        ".TP\n.B 0\ndone\n.TP\n.B 2\nwrong usage\n.TP\n.B 3\nbad input\n.TP\n.B 4\nrefused by a rule of the "
        "hold\n"
        ".TP\n.B 5\noutside fault: mail, disk, network\n";
    page += fmt::format(".SH NOTES\n{}\n", roff(tree.get_footer()));
    return page;
}

std::string bash_completion(const CLI::App& tree) {
    std::string script =
        "# SPDX-License-Identifier: Apache-2.0\n"
        "# bash completion for frayhold; made from its commands\n"
        "declare -gA _frayhold_words=(\n";
    write_words(script, tree, tree.get_name());
    script += ")\n";
    script += R"(
_frayhold() {
    local path=frayhold word i
    for ((i = 1; i < COMP_CWORD; ++i)); do
        word=${COMP_WORDS[i]}
        [[ $word == -* ]] && continue
        [[ -v _frayhold_words["$path $word"] ]] && path="$path $word"
    done
    COMPREPLY=($(compgen -W "${_frayhold_words[$path]}" -- "${COMP_WORDS[COMP_CWORD]}"))
}
complete -o bashdefault -o default -F _frayhold frayhold
)";
    return script;
}

}  // namespace frayhold::cli
