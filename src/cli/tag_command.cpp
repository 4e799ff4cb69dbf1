// SPDX-License-Identifier: Apache-2.0
#include "cli/tag_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "cli/whole_file.h"
#include "cli/words.h"
#include "pack/tags.h"

namespace frayhold::cli {
namespace {

pack::Paper paper_of(const std::string& name) {
    if (name == "a4") return pack::papers::a4;
    if (name == "letter") return pack::papers::letter;
    not_a_choice("--paper", name, {"a4", "letter"});
}

const pack::LabelSheet& sheet_of(const std::string& name) {
    std::vector<std::string> names;
    for (const pack::LabelSheet& sheet : pack::label_sheets()) {
        if (sheet.name == name) return sheet;
        names.emplace_back(sheet.name);
    }
    not_a_choice("--sheet", name, names);
}

pack::TaggedItem tagged(const desk::Desk& desk, const std::string& mark) {
    const desk::ItemHistory history = desk.item_history(mark);
    pack::TaggedItem item{history.item, history.life, history.check_due, ""};
    for (const record::EarlierHold& hold : history.holds)
        if (!hold.verdict) item.hold = hold.hold.number;
    return item;
}

// The items named, or all the search finds.
std::vector<pack::TaggedItem> items_for(const desk::Desk& desk, const std::vector<std::string>& marks,
                                        desk::ItemFilter filter) {
    std::vector<pack::TaggedItem> items;
    for (const std::string& mark : marks) items.push_back(tagged(desk, mark));
    if (!marks.empty()) return items;
    filter.limit = 0;
    for (const record::Item& item : desk.find_items(filter))
        if (item.status != record::ItemStatus::retired) items.push_back(tagged(desk, item.mark));
    if (items.empty())
        throw Failure(Fault::input, "items", "none is there to print", "check the kit or the place");
    return items;
}

void add_item(CLI::App& group, Session& session) {
    struct Options {
        std::vector<std::string> marks;
        desk::ItemFilter filter;
        std::string sheet = "a4-3x7";
        int first = 1;
        std::string file;
    };
    CLI::App& command = *group.add_subcommand("item", "Make labels for items, with QR code and mark");
    auto options = std::make_shared<Options>();
    command.add_option("MARK", options->marks, "items by their marks; or name a kit or place");
    command.add_option("--kit", options->filter.kit, "every item of this kit that is not retired");
    command.add_option("--place", options->filter.place, "every item at this place that is not retired");
    command.add_option("--sheet", options->sheet,
                       "labels: a4-3x7 (usual), a4-2x4, letter-3x10 or letter-2x5, across by down");
    command.add_option("--first", options->first,
                       "begin at this label of the first sheet (1 is the top left one)");
    command.add_option("-o,--output", options->file, "FILE.pdf")->required();
    command.callback([&session, options] {
        if (options->marks.empty() && options->filter.kit.empty() && options->filter.place.empty())
            throw Failure(Fault::usage, "tag item", "no item is named", "give marks, --kit or --place");
        const pack::LabelSheet& sheet = sheet_of(options->sheet);
        const std::vector<pack::TaggedItem> items =
            items_for(open_desk(session), options->marks, options->filter);
        write_whole_file(options->file, pack::item_tags_pdf(items, sheet, options->first));
        session.out << fmt::format("{}: {} labels; print it at 100 %\n", options->file, items.size());
    });
}

void add_hold(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        std::string paper = "a4";
        std::string file;
    };
    CLI::App& command = *group.add_subcommand("hold", "Make a tag to tie to an item on hold");
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, "the hold's number")->required();
    command.add_option("--paper", options->paper, "a4 (usual) or letter");
    command.add_option("-o,--output", options->file, "FILE.pdf")->required();
    add_caution(command);
    command.callback([&session, options] {
        const pack::Paper paper = paper_of(options->paper);
        const record::CaseFile file = open_desk(session).case_file(options->hold);
        if (file.verdict)
            throw Failure(Fault::refused, "hold " + options->hold, "it is over: the verdict is given",
                          "take the tag off instead");
        write_whole_file(options->file, pack::hold_tag_pdf(file, paper));
        session.out << options->file << " is written\n";
    });
}

void add_shelf(CLI::App& group, Session& session) {
    struct Options {
        desk::ItemFilter filter;
        std::string paper = "a4";
        std::string file;
    };
    CLI::App& command =
        *group.add_subcommand("shelf", "Make a list of what should lie at a place or in a kit, to tick off");
    auto options = std::make_shared<Options>();
    command.add_option("--kit", options->filter.kit, "the kit");
    command.add_option("--place", options->filter.place, "the place");
    command.add_option("--paper", options->paper, "a4 (usual) or letter");
    command.add_option("-o,--output", options->file, "FILE.pdf")->required();
    add_caution(command);
    command.callback([&session, options] {
        const pack::Paper paper = paper_of(options->paper);
        const bool by_kit = !options->filter.kit.empty();
        if (by_kit == !options->filter.place.empty())
            throw Failure(Fault::usage, "tag shelf", "it is not clear which list is meant",
                          "give one of --kit and --place");
        const std::vector<pack::TaggedItem> items = items_for(open_desk(session), {}, options->filter);
        const std::string title = by_kit ? "Kit " + options->filter.kit : options->filter.place;
        write_whole_file(options->file, pack::shelf_list_pdf(title, items, paper, now(session)));
        session.out << fmt::format("{}: {} items\n", options->file, items.size());
    });
}

}  // namespace

void add_tag_command(CLI::App& app, Session& session) {
    CLI::App& group =
        *app.add_subcommand("tag", "Labels, hold tags and shelf lists to print, each with a QR code");
    group.require_subcommand(1);
    add_item(group, session);
    add_hold(group, session);
    add_shelf(group, session);
}

}  // namespace frayhold::cli
