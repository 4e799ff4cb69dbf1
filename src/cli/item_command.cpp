// SPDX-License-Identifier: Apache-2.0
#include "cli/item_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>
#include <vector>

#include "cli/case_text.h"
#include "cli/item_files.h"
#include "cli/item_lists.h"
#include "cli/text_table.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/item.h"
#include "record/json.h"
#include "record/life.h"

namespace frayhold::cli {
namespace {

// The fields of an item as typed. Only an option that was given changes its field.
class ItemFields {
  public:
    explicit ItemFields(CLI::App& command) {
        text(command, "--kind", trf("what it is: {}", kind_words()),
             [](record::Item& item, const std::string& word) {
                 item.kind = choice_of("--kind", word, record::kind_named, record::all_kinds(),
                                       [](record::Kind kind) { return record::name_of(kind); });
             });
        plain(command, "--serial", tr("serial number"), &record::Item::serial);
        plain(command, "--maker", tr("who made it"), &record::Item::maker);
        plain(command, "--supplier", tr("who sold it, and how to reach them"), &record::Item::supplier);
        plain(command, "--model", tr("model as the maker calls it"), &record::Item::model);
        plain(command, "--batch", tr("batch or lot"), &record::Item::batch);
        plain(command, "--standard", tr("standard marked on it, such as 'EN 1891 A'"),
              &record::Item::standard);
        plain(command, "--material", tr("material"), &record::Item::material);
        length(command, "--length", tr("whole length, such as 45m"), length_along_of, &record::Item::length);
        length(command, "--size", tr("diameter or width as sold, in mm"), length_of,
               &record::Item::diameter_or_width);
        plain(command, "--sheath-colour", tr("colour of the sheath"), &record::Item::sheath_colour);
        plain(command, "--core-colour", tr("colour of the core"), &record::Item::core_colour);
        date(command, "--made", tr("date made: 2019-03-14, 2019-03 or 2019"), &record::Item::made);
        date(command, "--bought", tr("date bought"), &record::Item::bought);
        date(command, "--first-used", tr("date of first use"), &record::Item::first_used);
        plain(command, "--place", tr("where it is kept"), &record::Item::place);
        plain(command, "--kit", tr("the kit it belongs to"), &record::Item::kit);
        plain(command, "--user", tr("who uses it, where it belongs to one person"), &record::Item::used_by);
        text(command, "--use", trf("how often it is in use: {}, {} or {}", "rare", "regular", "heavy"),
             [](record::Item& item, const std::string& word) {
                 item.use = choice_of("--use", word, record::use_rate_named, record::all_use_rates(),
                                      [](record::UseRate use) { return record::name_of(use); });
             });
        years(command, "--life-from-made", tr("years the maker allows from the date made"),
              &record::LifeRule::years_from_made);
        years(command, "--life-from-use", tr("years the maker allows from first use"),
              &record::LifeRule::years_from_first_use);
        text(command, "--life-source", tr("where the maker says so"),
             [](record::Item& item, const std::string& typed) { item.life.source = typed; });
        plain(command, "--note", tr("note"), &record::Item::note);
    }

    void apply_to(record::Item& item) const {
        for (const Field& field : fields_)
            if (field.option->count() > 0) field.set(item, *field.text);
    }

  private:
    using Set = std::function<void(record::Item&, const std::string&)>;
    struct Field {
        CLI::Option* option;
        std::shared_ptr<std::string> text;
        Set set;
    };

    static std::string kind_words() {
        std::vector<std::string> names;
        for (const record::Kind kind : record::all_kinds()) names.emplace_back(record::name_of(kind));
        return joined(names, ", ");
    }

    void text(CLI::App& command, const std::string& name, const std::string& help, Set set) {
        auto typed = std::make_shared<std::string>();
        fields_.push_back({command.add_option(name, *typed, help), typed, std::move(set)});
    }
    void plain(CLI::App& command, const std::string& name, const std::string& help,
               std::string record::Item::*field) {
        text(command, name, help,
             [field](record::Item& item, const std::string& typed) { item.*field = typed; });
    }
    void length(CLI::App& command, const std::string& name, const std::string& help,
                Millimetres (*read)(const std::string&, std::string_view),
                std::optional<Millimetres> record::Item::*field) {
        text(command, name, help, [name, read, field](record::Item& item, const std::string& typed) {
            item.*field = read(name, typed);
        });
    }
    void date(CLI::App& command, const std::string& name, const std::string& help,
              std::optional<Date> record::Item::*field) {
        text(command, name, help, [name, field](record::Item& item, const std::string& typed) {
            item.*field = date_of(name, typed);
        });
    }
    void years(CLI::App& command, const std::string& name, const std::string& help,
               std::optional<int> record::LifeRule::*field) {
        text(command, name, help, [name, field](record::Item& item, const std::string& typed) {
            item.life.*field = whole_number_of(name, typed);
        });
    }

    std::vector<Field> fields_;
};

std::string size_words(const record::Item& item) {
    return item.diameter_or_width ? fmt::format("{:g} mm", item.diameter_or_width->value()) : "";
}

void print_item(std::ostream& out, const record::Item& item) {
    const auto date = [](const std::optional<Date>& day) { return day ? to_text(*day) : std::string(); };
    TextTable table;
    const auto line = [&](const std::string& name, const std::string& words) {
        if (!words.empty()) table.add({name, words});
    };
    line(tr("status"), record::words_for(item.status));
    line(tr("limit"), item.limit);
    line(tr("kind"), record::words_for(item.kind));
    line(tr("maker"), item.maker);
    line(tr("supplier"), item.supplier);
    line(tr("model"), item.model);
    line(tr("serial"), item.serial);
    line(tr("batch"), item.batch);
    line(tr("standard"), item.standard);
    line(tr("material"), item.material);
    line(tr("length"), item.length ? record::length_words(*item.length) : "");
    line(tr("size"), size_words(item));
    line(tr("sheath"), item.sheath_colour);
    line(tr("core"), item.core_colour);
    line(trc("of an item", "made"), date(item.made));
    line(tr("bought"), date(item.bought));
    line(tr("first used"), date(item.first_used));
    line(tr("place"), item.place);
    line(tr("kit"), item.kit);
    line(trc("of an item", "user"), item.used_by);
    line(trc("how often", "use"), item.use == record::UseRate::unknown ? "" : record::words_for(item.use));
    line(tr("life source"), tr_recorded(item.life.source));
    line(tr("cut from"), item.parent);
    line(tr("note"), item.note);
    out << item.mark << '\n';
    table.print(out, 2);
}

void add_add(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("add", tr("Enter a new item; it comes into service"));
    auto mark = std::make_shared<std::string>();
    auto who = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("MARK", *mark, tr("the item's own mark, such as K-12"))->required();
    auto fields = std::make_shared<ItemFields>(command);
    add_by_option(command, *who);
    command.add_flag("--json", *json, tr("print the item as JSON"));
    command.callback([&session, mark, who, json, fields] {
        record::Item item;
        item.mark = *mark;
        fields->apply_to(item);
        desk::Desk desk = open_desk(session, *who);
        const record::Item added = desk.add_item(item);
        if (*json) return print_json(session.out, record::as_json(added));
        session.out << trf("{} is in the register, {}", added.mark, record::words_for(added.status)) << '\n';
    });
    command.get_option("--kind")->required();
}

void add_edit(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("edit", tr("Change fields of an item; the journal keeps what they were"));
    auto mark = std::make_shared<std::string>();
    auto who = std::make_shared<std::string>();
    command.add_option("MARK", *mark, tr("the item's mark"))->required();
    auto fields = std::make_shared<ItemFields>(command);
    add_by_option(command, *who);
    command.callback([&session, mark, who, fields] {
        desk::Desk desk = open_desk(session, *who);
        desk.edit_item(*mark, [&](record::Item& item) { fields->apply_to(item); });
        session.out << trf("{} is changed", *mark) << '\n';
    });
}

void add_show(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("show", tr("Show an item and what happened to it"));
    auto mark = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("MARK", *mark, tr("the item's mark"))->required();
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, mark, json] {
        const language::Speaking speaking(language_for(*json));
        const desk::Desk desk = open_desk(session);
        const desk::ItemHistory history = desk.item_history(*mark);
        if (*json) {
            nlohmann::ordered_json out;
            out["item"] = record::as_json(history.item);
            out["life"] = record::as_json(history.life);
            out["holds"] = nlohmann::ordered_json::array();
            for (const record::EarlierHold& hold : history.holds)
                out["holds"].push_back(record::as_json(hold));
            out["parts"] = nlohmann::ordered_json::array();
            for (const record::Item& part : history.parts) out["parts"].push_back(record::as_json(part));
            out["checks"] = nlohmann::ordered_json::array();
            for (const record::ItemCheck& check : history.checks)
                out["checks"].push_back(record::as_json(check));
            out["check_due"] =
                history.check_due ? nlohmann::ordered_json(to_text(*history.check_due)) : nullptr;
            return print_json(session.out, out);
        }
        print_item(session.out, history.item);
        if (!history.life.words.empty()) session.out << "  " << history.life.words << '\n';
        for (const record::EarlierHold& earlier : history.holds) {
            session.out << fmt::format("  {} {}: {}\n", earlier.hold.number, day_words(earlier.hold.opened),
                                       tr_recorded(earlier.hold.seen));
            if (earlier.verdict) session.out << "    " << verdict_words(*earlier.verdict) << '\n';
        }
        if (history.check_due)
            session.out << "  "
                        << (history.checks.empty() ? tr("never checked: a check is due at once")
                                                   : trf("next check due {}", to_text(*history.check_due)))
                        << '\n';
        for (const record::ItemCheck& check : history.checks) {
            const std::string result =
                record::words_for(*check.result) + (check.words.empty() ? "" : ": " + check.words);
            session.out << fmt::format("  {} {}: {}\n", check.round, day_words(*check.done),
                                       trf("{} says: {}", check.done_by, result));
            for (const std::string& against : check.against)
                session.out << "    " << against_words(against) << '\n';
        }
        for (const record::Item& part : history.parts)
            session.out << "  "
                        << trf("part kept: {} {}", part.mark,
                               part.length ? record::length_words(*part.length) : "")
                        << '\n';
    });
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("list", tr("List items"));
    auto filter = std::make_shared<desk::ItemFilter>();
    auto status = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("WORDS", filter->text,
                       tr("words that begin a mark, serial, maker, model, batch, kit or place"));
    command.add_option("--maker", filter->maker, tr("only of this maker"));
    command.add_option("--model", filter->model, tr("only of this model"));
    command.add_option("--batch", filter->batch, tr("only of this batch"));
    command.add_option("--kit", filter->kit, tr("only of this kit"));
    command.add_option("--place", filter->place, tr("only at this place"));
    command.add_option(
        "--status", *status,
        trf("only in this state: {}", "in_service, on_hold, in_service_with_limit, retired, sent_to_maker"));
    add_range_options(command, filter->limit, filter->offset);
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, filter, status, json] {
        if (!status->empty()) {
            filter->status = record::item_status_named(*status);
            if (!filter->status)
                not_a_choice("--status", *status,
                             {"in_service", "on_hold", "in_service_with_limit", "retired", "sent_to_maker"});
        }
        const desk::Desk desk = open_desk(session);
        const std::vector<record::Item> items = desk.find_items(*filter);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::Item& item : items) list.push_back(record::as_json(item));
            return print_json(session.out, list);
        }
        if (items.empty()) session.out << tr("No item fits.") << '\n';
        TextTable table(
            {tr("mark"), tr("kind"), tr("maker"), tr("model"), tr("status"), tr("limit"), tr("place")});
        for (const record::Item& item : items)
            table.add({item.mark, record::words_for(item.kind), item.maker, item.model,
                       record::words_for(item.status), item.limit, item.place});
        if (!items.empty()) table.print(session.out);
    });
}

}  // namespace

void add_item_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("item", tr("The register: what there is and in which state"));
    group.require_subcommand(1);
    add_add(group, session);
    add_edit(group, session);
    add_show(group, session);
    add_list(group, session);
    add_item_lists(group, session);
    add_item_files(group, session);
}

}  // namespace frayhold::cli
