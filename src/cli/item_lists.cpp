// SPDX-License-Identifier: Apache-2.0
#include "cli/item_lists.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/text_table.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

void add_lives(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand(
        "lives", tr("List items whose life is over, ends soon or has an unknown end, which counts as over"));
    auto filter = std::make_shared<desk::LifeFilter>();
    auto by = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option(
        "--by-day", *by,
        trf("ends by this day ({} months from now where none is named)", record::life_warning_months));
    add_range_options(command, filter->limit, filter->offset);
    command.add_flag("--json", *json, tr("print JSON"));
    add_caution(command);
    command.callback([&session, filter, by, json] {
        if (!by->empty()) filter->by = date_of("--by-day", *by);
        const language::Speaking speaking(language_for(*json));
        const std::vector<desk::LifeLine> lines = open_desk(session).ending_lives(*filter);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const desk::LifeLine& line : lines)
                list.push_back({{"item", record::as_json(line.item)}, {"life", record::as_json(line.life)}});
            return print_json(session.out, list);
        }
        if (lines.empty()) session.out << tr("No life ends by then.") << '\n';
        TextTable table({tr("mark"), tr("maker"), tr("model"), tr("status"), tr("life")});
        for (const desk::LifeLine& line : lines)
            table.add({line.item.mark, line.item.maker, line.item.model, record::words_for(line.item.status),
                       line.life.counts_as_over() ? trf("OVER: {}", line.life.words) : line.life.words});
        if (!lines.empty()) table.print(session.out);
    });
}

void add_destroyed(CLI::App& group, Session& session) {
    struct Options {
        int limit = 200;
        int offset = 0;
        bool json = false;
    };
    CLI::App& command = *group.add_subcommand(
        "destroyed", tr("List what was destroyed, who decided it and who saw it, latest first"));
    auto options = std::make_shared<Options>();
    add_range_options(command, options->limit, options->offset);
    command.add_flag("--json", options->json, tr("print JSON"));
    command.callback([&session, options] {
        const std::vector<desk::DestroyedItem> gone =
            open_desk(session).destroyed_items(options->limit, options->offset);
        if (options->json) {
            auto list = nlohmann::ordered_json::array();
            for (const desk::DestroyedItem& line : gone) {
                nlohmann::ordered_json entry{{"item", record::as_json(line.item)},
                                             {"hold", line.hold},
                                             {"verdict", record::name_of(line.verdict)}};
                entry["scrapped_mm"] =
                    line.scrapped ? nlohmann::ordered_json(line.scrapped->value()) : nullptr;
                entry["by"] = line.by;
                entry["given"] = to_text(line.given);
                entry["witness"] = line.witness;
                entry["reason"] = line.reason;
                list.push_back(std::move(entry));
            }
            return print_json(session.out, list);
        }
        if (gone.empty()) session.out << tr("Nothing was destroyed.") << '\n';
        TextTable table({tr("mark"), tr("what"), trc("when", "on"), tr("decided by"), tr("witness"),
                         trc("the case", "hold")});
        for (const desk::DestroyedItem& line : gone)
            table.add({line.item.mark,
                       line.scrapped ? trf("{} cut out", record::length_words(*line.scrapped))
                                     : tr("the whole item"),
                       day_words(line.given), line.by, line.witness.empty() ? tr("none named") : line.witness,
                       line.hold});
        if (!gone.empty()) table.print(session.out);
    });
}

}  // namespace

void add_item_lists(CLI::App& group, Session& session) {
    add_lives(group, session);
    add_destroyed(group, session);
}

}  // namespace frayhold::cli
