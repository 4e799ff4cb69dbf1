// SPDX-License-Identifier: Apache-2.0
#include "cli/pack_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/disclosure_text.h"
#include "cli/whole_file.h"
#include "desk/case_pack.h"
#include "language/languages.h"
#include "language/speaking.h"
#include "language/tr.h"
#include "pack/evidence_pack.h"
#include "pack/pack_folder.h"

namespace frayhold::cli {
namespace {

struct Options {
    std::string hold;
    std::string output;
    desk::LetterOrder order;
};

// A pack leaves no trace in the journal: the name stands under its letter.
void add_signer_option(CLI::App& command, std::string& who) {
    command.add_option("--by", who, tr("your name, under the letter; else FRAYHOLD_BY"))
        ->envname("FRAYHOLD_BY")
        ->required();
}

std::shared_ptr<Options> add_order_options(CLI::App& command) {
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    command.add_option(
        "--language", options->order.language,
        tr("language of the letter and what goes with it, such as de; else the maker's book, else en"));
    command
        .add_option("--ask", options->order.questions,
                    tr("a question by its key; may be repeated: see 'query questions'"))
        ->allow_extra_args(false);
    command.add_option("--substance", options->order.substance,
                       tr("the ink or cleaner that question 'cleaner' is about"));
    command.add_option("--words", options->order.own_words, tr("more, in your words"));
    command.add_option("--outfit", options->order.outfit, tr("your outfit's name; else FRAYHOLD_OUTFIT"))
        ->envname("FRAYHOLD_OUTFIT");
    add_signer_option(command, options->order.keeper);
    return options;
}

pack::PackOrder order_of(const Session& session, Options& options) {
    const auto desk = std::make_shared<const desk::Desk>(open_desk(session));
    if (options.order.language.empty()) {
        const std::optional<record::Maker> maker = desk->maker_of(options.hold);
        options.order.language = maker ? maker->language : "en";
    }
    const auto kept = [desk](const std::string& sha256) { return desk->kept_bytes(sha256); };
    return desk::pack_order(desk->case_file(options.hold), options.order, kept, now(session));
}

}  // namespace

void add_pack_command(CLI::App& app, Session& session) {
    CLI::App& group =
        *app.add_subcommand("pack", tr("A case put together: PDF, pictures, readings and letter"));
    group.require_subcommand(1);

    CLI::App& make = *group.add_subcommand("make", tr("Make the evidence pack, a BagIt folder or one zip"));
    auto folder = add_order_options(make);
    make.add_option("-o,--output", folder->output, tr("a new folder, or FILE.zip"))->required();
    make.callback([&session, folder] {
        const pack::PackOrder order = order_of(session, *folder);
        const pack::Bag bag = pack::bag_of(desk::case_pack(order, session.languages.get()), order);
        if (folder->output.ends_with(".zip"))
            write_whole_file(folder->output, pack::pack_zip(bag));
        else
            pack::write_pack_folder(folder->output, bag);
        session.out << trn("{1}: {0} file; 'sha256sum -c manifest-sha256.txt' proves it whole",
                           "{1}: {0} files; 'sha256sum -c manifest-sha256.txt' proves them whole",
                           bag.payload.size(), folder->output)
                    << '\n';
    });

    CLI::App& pdf = *group.add_subcommand("pdf", tr("Make only the PDF of the case"));
    auto file = add_order_options(pdf);
    pdf.add_option("-o,--output", file->output, tr("FILE.pdf"))->required();
    pdf.callback([&session, file] {
        write_whole_file(file->output,
                         desk::case_pack(order_of(session, *file), session.languages.get()).pdf);
        session.out << trf("{} is written", file->output) << '\n';
    });

    CLI::App& contents =
        *group.add_subcommand("contents", tr("List what leaves the house with this case, and what does not"));
    struct Contents {
        std::string hold;
        std::string who;
        bool json = false;
    };
    auto listed = std::make_shared<Contents>();
    contents.add_option("HOLD", listed->hold, tr("the hold's number"))->required();
    add_signer_option(contents, listed->who);
    contents.add_flag("--json", listed->json, tr("print JSON"));
    contents.callback([&session, listed] {
        const language::Speaking speaking(language_for(listed->json));
        const desk::Desk desk = open_desk(session, listed->who);
        const desk::Disclosure leaves = what_leaves(desk, listed->hold, listed->who);
        if (listed->json) return print_json(session.out, as_json(leaves));
        print_disclosure(session.out, leaves);
    });
}

}  // namespace frayhold::cli
