// SPDX-License-Identifier: Apache-2.0
#include "cli/item_files.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>
#include <sstream>

#include "cli/case_text.h"
#include "cli/text_table.h"
#include "cli/whole_file.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "desk/papers.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/item_csv.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

std::span<const std::byte> bytes_of(const std::string& text) {
    return std::as_bytes(std::span(text));
}

std::string text_of(const std::vector<std::byte>& bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

// "Own no.=mark", "Colour=" to leave it out.
desk::ColumnMap column_map(const std::vector<std::string>& typed) {
    desk::ColumnMap map;
    for (const std::string& text : typed) {
        const std::size_t sign = text.rfind('=');
        if (sign == std::string::npos || sign == 0)
            throw Failure(Fault::usage, "--column", trf("\"{}\" is not HEADING=FIELD", text),
                          "such as 'Own no.=mark', or 'Colour=' to leave it out");
        map[text.substr(0, sign)] = text.substr(sign + 1);
    }
    return map;
}

void print_plan(std::ostream& out, const desk::ImportPlan& plan) {
    TextTable table({tr("column"), tr("field")});
    for (const desk::ImportColumn& column : plan.columns)
        table.add({column.heading, column.field.empty() ? tr("(left out)") : column.field});
    table.print(out);
    for (const desk::RefusedRow& row : plan.refused)
        out << trf("line {}: {}", row.line, tr_recorded(row.reason)) << '\n';
    const std::size_t items = plan.items.size();
    if (plan.done)
        out << trn("{} item is in the register", "{} items are in the register", items);
    else if (plan.refused.empty())
        out << trn("{} item can come in; nothing is changed yet: say --act",
                   "{} items can come in; nothing is changed yet: say --act", items);
    else
        out << trn("{} of {} rows is refused, so no item came in: mend it and import the file again",
                   "{} of {} rows are refused, so no item came in: mend them and import the file again",
                   plan.refused.size(), plan.refused.size() + items);
    out << '\n';
}

nlohmann::ordered_json plan_json(const desk::ImportPlan& plan) {
    nlohmann::ordered_json out{{"done", plan.done}};
    out["columns"] = nlohmann::ordered_json::array();
    for (const desk::ImportColumn& column : plan.columns)
        out["columns"].push_back({{"heading", column.heading}, {"field", column.field}});
    out["items"] = nlohmann::ordered_json::array();
    for (const record::Item& item : plan.items) out["items"].push_back(record::as_json(item));
    out["refused"] = nlohmann::ordered_json::array();
    for (const desk::RefusedRow& row : plan.refused)
        out["refused"].push_back({{"line", row.line}, {"reason", row.reason}, {"cells", row.cells}});
    return out;
}

void add_import(CLI::App& group, Session& session) {
    struct Options {
        std::string file;
        std::vector<std::string> columns;
        std::string refused;
        bool act = false;
        std::string who;
        bool json = false;
    };
    CLI::App& command = *group.add_subcommand(
        "import",
        tr("Bring in items from a CSV file, all rows or none; shows which column is which field first"));
    auto options = std::make_shared<Options>();
    command
        .add_option("FILE", options->file,
                    tr("CSV in UTF-8, its first line naming the columns, in any order"))
        ->required();
    command
        .add_option("--column", options->columns,
                    tr("HEADING=FIELD where the heading does not say it; may be repeated"))
        ->allow_extra_args(false);
    command.add_option("--refused", options->refused,
                       tr("write the refused rows with their reasons to this CSV file"));
    command.add_flag("--act", options->act, tr("bring them in; else only shown"));
    command.add_option("--by", options->who, tr("your name, for the journal; else FRAYHOLD_BY"))
        ->envname("FRAYHOLD_BY");
    command.add_flag("--json", options->json, tr("print JSON"));
    command.footer(trf("Fields: {}", joined(record::item_fields(), ", ")));
    command.callback([&session, options] {
        const language::Speaking speaking(language_for(options->json));
        const std::string csv = text_of(read_whole_file(options->file));
        const desk::ColumnMap map = column_map(options->columns);
        desk::Desk desk = open_desk(session, options->who);
        const desk::ImportPlan plan =
            options->act ? desk.import_items(csv, map) : desk.preview_import(csv, map);
        if (!options->refused.empty() && !plan.refused.empty())
            write_whole_file(options->refused, bytes_of(plan.refused_csv));
        if (!plan.refused.empty()) session.exit_code = static_cast<int>(Fault::input);
        if (options->json) return print_json(session.out, plan_json(plan));
        print_plan(session.out, plan);
        if (!options->refused.empty() && !plan.refused.empty())
            session.out << trf("{} holds the refused rows", options->refused) << '\n';
    });
}

std::string as_json_text(const std::vector<record::Item>& items) {
    auto list = nlohmann::ordered_json::array();
    for (const record::Item& item : items) list.push_back(record::as_json(item));
    std::ostringstream out;
    print_json(out, list);
    return out.str();
}

void add_export(CLI::App& group, Session& session) {
    struct Options {
        desk::ItemFilter filter;
        std::string file;
    };
    CLI::App& command = *group.add_subcommand("export", tr("Write the register to a CSV or JSON file"));
    auto options = std::make_shared<Options>();
    command.add_option("-o,--output", options->file, tr("FILE.csv or FILE.json"))->required();
    command.add_option("WORDS", options->filter.text,
                       tr("words that begin a mark, serial, maker, model, batch, kit or place"));
    command.add_option("--kit", options->filter.kit, tr("only of this kit"));
    command.add_option("--place", options->filter.place, tr("only at this place"));
    command.callback([&session, options] {
        const bool csv = options->file.ends_with(".csv");
        if (!csv && !options->file.ends_with(".json"))
            throw Failure(Fault::usage, "-o", trf("\"{}\" ends in neither .csv nor .json", options->file),
                          "name the file items.csv or items.json");
        options->filter.limit = 0;
        const std::vector<record::Item> items = open_desk(session).find_items(options->filter);
        write_whole_file(options->file, bytes_of(csv ? record::items_as_csv(items) : as_json_text(items)));
        session.out << trn("{1}: {0} item", "{1}: {0} items", items.size(), options->file) << '\n';
    });
}

void add_record(CLI::App& group, Session& session) {
    struct Options {
        std::string mark;
        int year = 0;
        std::string outfit;
        std::string file;
    };
    CLI::App& command =
        *group.add_subcommand("record", tr("Make the record of one item as PDF, of one year or of all"));
    auto options = std::make_shared<Options>();
    command.add_option("MARK", options->mark, tr("the item's mark"))->required();
    take_whole_number(command.add_option("--year", options->year, tr("only what happened in this year")),
                      1900, 9999);
    command.add_option("--outfit", options->outfit, tr("your outfit's name; else FRAYHOLD_OUTFIT"))
        ->envname("FRAYHOLD_OUTFIT");
    command.add_option("-o,--output", options->file, tr("FILE.pdf"))->required();
    add_caution(command);
    command.callback([&session, options] {
        write_whole_file(options->file, desk::item_record(open_desk(session), options->mark, options->year,
                                                          options->outfit, now(session)));
        session.out << trf("{} is written", options->file) << '\n';
    });
}

}  // namespace

void add_item_files(CLI::App& group, Session& session) {
    add_import(group, session);
    add_export(group, session);
    add_record(group, session);
}

}  // namespace frayhold::cli
