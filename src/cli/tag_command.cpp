// SPDX-License-Identifier: Apache-2.0
#include "cli/tag_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <ostream>

#include "cli/whole_file.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "desk/papers.h"
#include "language/tr.h"

namespace frayhold::cli {
namespace {

pack::Paper paper_of(const std::string& name) {
    if (const std::optional<pack::Paper> paper = desk::paper_named(name)) return *paper;
    not_a_choice("--paper", name, {"a4", "letter"});
}

const pack::LabelSheet& sheet_of(const std::string& name) {
    if (const pack::LabelSheet* sheet = desk::label_sheet_named(name)) return *sheet;
    std::vector<std::string> names;
    for (const pack::LabelSheet& sheet : pack::label_sheets()) names.emplace_back(sheet.name);
    not_a_choice("--sheet", name, names);
}

void add_item(CLI::App& group, Session& session) {
    struct Options {
        std::vector<std::string> marks;
        desk::ItemFilter filter;
        std::string sheet = "a4-3x7";
        int first = 1;
        std::string file;
    };
    CLI::App& command = *group.add_subcommand("item", tr("Make labels for items, with QR code and mark"));
    auto options = std::make_shared<Options>();
    command.add_option("MARK", options->marks, tr("items by their marks; or name a kit or place"));
    command.add_option("--kit", options->filter.kit, tr("every item of this kit that is not retired"));
    command.add_option("--place", options->filter.place, tr("every item at this place that is not retired"));
    command.add_option("--sheet", options->sheet,
                       tr("labels: a4-3x7 (usual), a4-2x4, letter-3x10 or letter-2x5, across by down"));
    take_whole_number(
        command.add_option("--first", options->first,
                           tr("begin at this label of the first sheet (1 is the top left one)")),
        1);
    command.add_option("-o,--output", options->file, tr("FILE.pdf"))->required();
    command.callback([&session, options] {
        if (options->marks.empty() && options->filter.kit.empty() && options->filter.place.empty())
            throw Failure(Fault::usage, "tag item", "no item is named", "give marks, --kit or --place");
        const pack::LabelSheet& sheet = sheet_of(options->sheet);
        const std::vector<pack::TaggedItem> items =
            desk::tagged_items(open_desk(session), options->marks, options->filter);
        write_whole_file(options->file, pack::item_tags_pdf(items, sheet, options->first));
        session.out << trn("{1}: {0} label; print it at 100 %", "{1}: {0} labels; print it at 100 %",
                           items.size(), options->file)
                    << '\n';
    });
}

void add_hold(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        std::string paper = "a4";
        std::string file;
    };
    CLI::App& command = *group.add_subcommand("hold", tr("Make a tag to tie to an item on hold"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    command.add_option("--paper", options->paper, tr("a4 (usual) or letter"));
    command.add_option("-o,--output", options->file, tr("FILE.pdf"))->required();
    add_caution(command);
    command.callback([&session, options] {
        const pack::Paper paper = paper_of(options->paper);
        write_whole_file(options->file, desk::hold_tag(open_desk(session), options->hold, paper));
        session.out << trf("{} is written", options->file) << '\n';
    });
}

void add_shelf(CLI::App& group, Session& session) {
    struct Options {
        desk::ItemFilter filter;
        std::string paper = "a4";
        std::string file;
    };
    CLI::App& command = *group.add_subcommand(
        "shelf", tr("Make a list of what should lie at a place or in a kit, to tick off"));
    auto options = std::make_shared<Options>();
    command.add_option("--kit", options->filter.kit, tr("the kit"));
    command.add_option("--place", options->filter.place, tr("the place"));
    command.add_option("--paper", options->paper, tr("a4 (usual) or letter"));
    command.add_option("-o,--output", options->file, tr("FILE.pdf"))->required();
    add_caution(command);
    command.callback([&session, options] {
        const pack::Paper paper = paper_of(options->paper);
        const bool by_kit = !options->filter.kit.empty();
        if (by_kit == !options->filter.place.empty())
            throw Failure(Fault::usage, "tag shelf", "it is not clear which list is meant",
                          "give one of --kit and --place");
        const std::vector<pack::TaggedItem> items =
            desk::tagged_items(open_desk(session), {}, options->filter);
        const std::string title = by_kit ? trf("Kit {}", options->filter.kit) : options->filter.place;
        write_whole_file(options->file, pack::shelf_list_pdf(title, items, paper, now(session)));
        session.out << trn("{1}: {0} item", "{1}: {0} items", items.size(), options->file) << '\n';
    });
}

}  // namespace

void add_tag_command(CLI::App& app, Session& session) {
    CLI::App& group =
        *app.add_subcommand("tag", tr("Labels, hold tags and shelf lists to print, each with a QR code"));
    group.require_subcommand(1);
    add_item(group, session);
    add_hold(group, session);
    add_shelf(group, session);
}

}  // namespace frayhold::cli
