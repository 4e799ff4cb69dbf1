// SPDX-License-Identifier: Apache-2.0
#include "cli/check_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/text_table.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "criteria/advice.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/check.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

// The results of a check as they are typed.
std::string typed_results() {
    return trf("{}, {}, {} or {}", "keep", "keep_and_watch", "hold", "retire");
}

// What every command about one item of a round takes.
struct Target {
    std::string round;
    std::string mark;
    std::string who;
    bool json = false;
};

std::shared_ptr<Target> add_target(CLI::App& command, bool writes) {
    auto target = std::make_shared<Target>();
    command.add_option("ROUND", target->round, tr("the round's number"))->required();
    command.add_option("MARK", target->mark, tr("the item's mark"))->required();
    if (writes) add_by_option(command, target->who);
    command.add_flag("--json", target->json, tr("print the check as JSON"));
    return target;
}

std::string day_or(const std::optional<Date>& day, const std::string& otherwise) {
    return day ? to_text(*day) : otherwise;
}

void print_findings(std::ostream& out, const std::vector<record::Finding>& findings,
                    const std::string& margin) {
    for (const record::Finding& finding : findings) {
        const std::string place = record::place_words(finding);
        std::string found = tr_recorded(finding.kind_words);
        if (!place.empty()) found += ", " + place;
        if (!finding.words.empty()) found += ": " + finding.words;
        out << margin << trf("found: {}", found) << '\n';
    }
}

std::string result_words(const record::ItemCheck& check) {
    if (!check.result) return record::words_for(check.state);
    std::string result = record::words_for(*check.result);
    if (!check.words.empty()) result += ": " + check.words;
    if (!check.hold.empty()) result += " (" + check.hold + ")";
    // Translators: who gave the result of a check, and the result: "Ida Fenwright says: keep".
    return trf("{} says: {}", check.done_by, result);
}

void print_earlier(std::ostream& out, const desk::CheckSheet& sheet) {
    out << tr("Before:") << '\n';
    for (const record::ItemCheck& check : sheet.earlier) {
        out << fmt::format("  {} {}: {}\n", check.round, day_words(*check.done), result_words(check));
        for (const std::string& against : check.against) out << "    " << against_words(against) << '\n';
        print_findings(out, check.findings, "    ");
    }
    for (const record::EarlierHold& hold : sheet.holds) {
        out << fmt::format("  {} {}: {}\n", hold.hold.number, day_words(hold.hold.opened),
                           tr_recorded(hold.hold.seen));
        print_findings(out, hold.findings, "    ");
        if (hold.verdict) out << "    " << verdict_words(*hold.verdict) << '\n';
    }
    if (sheet.earlier.empty() && sheet.holds.empty())
        out << "  " << tr("nothing is recorded: it was never checked here") << '\n';
}

void print_sheet(std::ostream& out, const desk::CheckSheet& sheet) {
    const record::Item& item = sheet.item;
    out << fmt::format("{}: {}{}{}{}\n", item.mark, record::words_for(item.kind),
                       item.maker.empty() ? "" : ", " + item.maker,
                       item.model.empty() ? "" : ", " + item.model,
                       item.serial.empty() ? "" : ", " + trf("serial {}", item.serial));
    if (!item.limit.empty()) out << "  " << trf("LIMIT: {}", item.limit) << '\n';
    if (!sheet.life.words.empty()) out << "  " << sheet.life.words << '\n';
    print_earlier(out, sheet);
    out << trf("Now ({}):", record::words_for(sheet.check.state)) << '\n';
    for (const record::StepDone& step : sheet.check.steps)
        out << fmt::format("  [x] {}{}\n", record::words_for(step.step),
                           step.words.empty() ? "" : ": " + step.words);
    for (const record::Stretch& stretch : sheet.check.felt)
        out << "  [x] "
            << trf("looked at and felt {} to {}", record::length_words(Millimetres(stretch.from_mm)),
                   record::length_words(Millimetres(stretch.to_mm)))
            << '\n';
    for (const std::string& left : sheet.left) out << "  [ ] " << left << '\n';
    print_findings(out, sheet.check.findings, "  ");
    for (const record::Finding& finding : sheet.check.findings) print_advice(out, finding.advice, 4);
    if (sheet.check.result) out << "  " << result_words(sheet.check) << '\n';
    for (const std::string& against : sheet.check.against) out << "  " << against_words(against) << '\n';
    if (!sheet.rest.empty()) out << "  " << trf("REST: {}", sheet.rest) << '\n';
    if (sheet.left.empty() && !sheet.check.result)
        out << "  " << trf("Now give your result: {}.", typed_results()) << '\n';
}

// After each action: the sheet again, so that the next step is in sight.
void print_after(Session& session, const desk::Desk& desk, const Target& target,
                 const record::ItemCheck& check) {
    if (target.json) return print_json(session.out, record::as_json(check));
    print_sheet(session.out, desk.check_sheet(target.round, target.mark));
    session.out << tr_word(criteria::caution) << '\n';
}

void add_due(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("due", tr("List items whose check is due, those never checked first"));
    auto filter = std::make_shared<desk::DueFilter>();
    auto by = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("--kit", filter->kit, tr("only of this kit"));
    command.add_option("--place", filter->place, tr("only at this place"));
    command.add_option("--by-day", *by, tr("due by this day (today where none is named)"));
    add_range_options(command, filter->limit, filter->offset);
    command.add_flag("--json", *json, tr("print JSON"));
    add_caution(command);
    command.callback([&session, filter, by, json] {
        if (!by->empty()) filter->by = date_of("--by-day", *by);
        const language::Speaking speaking(language_for(*json));
        const desk::Desk desk = open_desk(session);
        const std::vector<desk::DueCheck> due = desk.due_checks(*filter);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const desk::DueCheck& line : due) {
                nlohmann::ordered_json entry{{"item", record::as_json(line.item)}};
                entry["checked"] = line.checked ? nlohmann::ordered_json(to_text(*line.checked)) : nullptr;
                entry["due"] = line.checked ? nlohmann::ordered_json(to_text(line.due)) : nullptr;
                entry["life"] = record::as_json(line.life);
                entry["round"] = line.in_round.empty() ? nlohmann::ordered_json(nullptr)
                                                       : nlohmann::ordered_json(line.in_round);
                list.push_back(std::move(entry));
            }
            return print_json(session.out, list);
        }
        if (due.empty()) {
            session.out << tr("No check is due.") << '\n';
            return;
        }
        TextTable table({tr("mark"), tr("kind"), tr("last check"), tr("due"), tr("life"), tr("limit"),
                         tr("place"), tr("round")});
        for (const desk::DueCheck& line : due)
            table.add({line.item.mark, record::words_for(line.item.kind), day_or(line.checked, tr("never")),
                       line.checked ? to_text(line.due) : tr("at once"),
                       line.life.counts_as_over()
                           ? tr("OVER")
                           : (line.life.over_from ? to_text(*line.life.over_from) : ""),
                       line.item.limit, line.item.place, line.in_round});
        table.print(session.out);
        session.out << tr("The intervals are yours to set by local law and the maker: see 'check interval'.")
                    << '\n';
    });
}

void add_interval(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand(
        "interval",
        tr("Show the months between two checks, or set them by kind and use as local law and maker ask"));
    struct Options {
        std::string kind;
        std::string use = "unknown";
        int months = 0;
        std::string who;
    };
    auto options = std::make_shared<Options>();
    command.add_option("KIND", options->kind, tr("a kind of item, to set its months"));
    command.add_option("--use", options->use,
                       trf("{}, {} or {}; every use where left out", "rare", "regular", "heavy"));
    auto* const months =
        command.add_option("--months", options->months, tr("whole months; 0 for the usual interval again"));
    command.add_option("--by", options->who, tr("your name, for the journal; else FRAYHOLD_BY"))
        ->envname("FRAYHOLD_BY");
    add_caution(command);
    command.callback([&session, options, months] {
        if (months->count() > 0 || !options->kind.empty()) {
            if (options->kind.empty())
                throw Failure(Fault::usage, "check interval", "no kind of item is named",
                              "name one, such as rope_low_stretch");
            const record::Kind kind =
                choice_of("KIND", options->kind, record::kind_named, record::all_kinds(),
                          [](record::Kind each) { return record::name_of(each); });
            const record::UseRate use =
                choice_of("--use", options->use, record::use_rate_named, record::all_use_rates(),
                          [](record::UseRate each) { return record::name_of(each); });
            if (months->count() == 0)
                throw Failure(Fault::usage, "--months", "no months are named", "give --months N");
            open_desk(session, options->who)
                .set_check_interval(kind, use,
                                    options->months == 0 ? std::nullopt : std::optional(options->months));
        }
        const desk::Desk desk = open_desk(session);
        TextTable table({tr("kind"), trc("how often", "use"), tr("months")});
        for (const desk::CheckInterval& set : desk.check_intervals())
            table.add({record::words_for(set.kind),
                       set.use == record::UseRate::unknown ? tr("every use") : record::words_for(set.use),
                       std::to_string(set.months)});
        if (!table.empty()) table.print(session.out);
        session.out << trf("Where nothing is set: {} months, in heavy use {}. Local law and the maker may "
                           "ask for more.",
                           record::usual_check_months(record::UseRate::regular),
                           record::usual_check_months(record::UseRate::heavy))
                    << '\n';
    });
}

void print_round(std::ostream& out, const desk::RoundView& view) {
    const record::CheckRound& round = view.round;
    out << (round.ended ? trf("{}: {}, started {} by {}, ended {}", round.number, record::scope_words(round),
                              day_words(round.started), round.started_by, day_words(*round.ended))
                        : trf("{}: {}, started {} by {}", round.number, record::scope_words(round),
                              day_words(round.started), round.started_by))
        << '\n';
    TextTable table({trc("number", "no"), tr("item"), tr("state"), tr("result")});
    for (const record::ItemCheck& check : view.checks)
        table.add({std::to_string(check.turn), check.item, record::words_for(check.state),
                   check.result ? result_words(check) : ""});
    table.print(out, 2);
    if (!view.elsewhere.empty())
        out << "  " << trf("In another round already: {}", joined(view.elsewhere, ", ")) << '\n';
}

nlohmann::ordered_json view_json(const desk::RoundView& view) {
    nlohmann::ordered_json out = record::as_json(view.round);
    out["checks"] = nlohmann::ordered_json::array();
    for (const record::ItemCheck& check : view.checks) out["checks"].push_back(record::as_json(check));
    out["elsewhere"] = view.elsewhere;
    return out;
}

void add_start(CLI::App& group, Session& session) {
    struct Options {
        desk::RoundOrder order;
        bool all = false;
        std::string due_by;
        std::string who;
        bool json = false;
    };
    CLI::App& command =
        *group.add_subcommand("start", tr("Start a round over a kit, a place or the whole store"));
    auto options = std::make_shared<Options>();
    command.add_option("--kit", options->order.kit, tr("every item in service of this kit"));
    command.add_option("--place", options->order.place, tr("every item in service at this place"));
    command.add_flag("--all", options->all, tr("every item in service of the store"));
    command.add_option("--due-by", options->due_by, tr("only items whose check is due by this day"));
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, tr("print JSON"));
    add_caution(command);
    command.callback([&session, options] {
        const int named =
            int(!options->order.kit.empty()) + int(!options->order.place.empty()) + int(options->all);
        if (named != 1)
            throw Failure(Fault::usage, "check start", "it is not clear what to check",
                          "give one of --kit, --place and --all");
        if (!options->due_by.empty()) options->order.due_by = date_of("--due-by", options->due_by);
        desk::Desk desk = open_desk(session, options->who);
        const desk::RoundView view = desk.start_round(options->order);
        if (options->json) return print_json(session.out, view_json(view));
        print_round(session.out, view);
    });
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("list", tr("List rounds, the latest first"));
    auto running = std::make_shared<bool>(false);
    auto limit = std::make_shared<int>(50);
    auto json = std::make_shared<bool>(false);
    command.add_flag("--running", *running, tr("only those that have not ended"));
    take_whole_number(command.add_option("--limit", *limit, trf("at most so many (default {})", *limit)), 1,
                      1'000'000);
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, running, limit, json] {
        const desk::Desk desk = open_desk(session);
        const std::vector<record::CheckRound> rounds = desk.check_rounds(*running, *limit);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::CheckRound& round : rounds) list.push_back(record::as_json(round));
            return print_json(session.out, list);
        }
        if (rounds.empty()) session.out << tr("No round fits.") << '\n';
        TextTable table({tr("round"), tr("what"), tr("started"), trc("who", "by"), tr("ended")});
        for (const record::CheckRound& round : rounds)
            table.add({round.number, record::scope_words(round), day_words(round.started), round.started_by,
                       round.ended ? day_words(*round.ended) : ""});
        if (!rounds.empty()) table.print(session.out);
    });
}

void add_show(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand(
        "show",
        tr("Show a round; with a mark, that item's sheet: last findings first, then what is to be done"));
    auto target = std::make_shared<Target>();
    command.add_option("ROUND", target->round, tr("the round's number"))->required();
    command.add_option("MARK", target->mark, tr("the item's mark"));
    command.add_flag("--json", target->json, tr("print JSON"));
    add_caution(command);
    command.callback([&session, target] {
        const language::Speaking speaking(language_for(target->json));
        const desk::Desk desk = open_desk(session);
        if (target->mark.empty()) {
            const desk::RoundView view = desk.check_round(target->round);
            if (target->json) return print_json(session.out, view_json(view));
            return print_round(session.out, view);
        }
        const desk::CheckSheet sheet = desk.check_sheet(target->round, target->mark);
        if (!target->json) {
            print_sheet(session.out, sheet);
            session.out << tr_word(criteria::caution) << '\n';
            return;
        }
        nlohmann::ordered_json out{{"item", record::as_json(sheet.item)},
                                   {"life", record::as_json(sheet.life)}};
        out["earlier"] = nlohmann::ordered_json::array();
        for (const record::ItemCheck& check : sheet.earlier) out["earlier"].push_back(record::as_json(check));
        out["holds"] = nlohmann::ordered_json::array();
        for (const record::EarlierHold& hold : sheet.holds) out["holds"].push_back(record::as_json(hold));
        out["check"] = record::as_json(sheet.check);
        out["left"] = sheet.left;
        out["rest"] =
            sheet.rest.empty() ? nlohmann::ordered_json(nullptr) : nlohmann::ordered_json(sheet.rest);
        out["caution"] = criteria::caution;
        print_json(session.out, out);
    });
}

// A command that needs no more than round and mark.
template <class Action>
void add_plain(CLI::App& group, Session& session, const std::string& name, const std::string& help,
               Action action) {
    CLI::App& command = *group.add_subcommand(name, help);
    auto target = add_target(command, true);
    command.callback([&session, target, action] {
        desk::Desk desk = open_desk(session, target->who);
        print_after(session, desk, *target, action(desk, *target));
    });
}

void add_step(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("step", tr("A step is done"));
    auto target = add_target(command, true);
    auto step = std::make_shared<std::string>();
    auto words = std::make_shared<std::string>();
    command
        .add_option("STEP", *step,
                    trf("{}, {}, {}, {} or {}", "label_and_identity", "stitching", "one_side", "other_side",
                        "fittings"))
        ->required();
    command.add_option("--words", *words, tr("more, in your words"));
    command.callback([&session, target, step, words] {
        const record::CheckStep named =
            choice_of("STEP", *step, record::check_step_named, record::all_check_steps(),
                      [](record::CheckStep each) { return record::name_of(each); });
        desk::Desk desk = open_desk(session, target->who);
        print_after(session, desk, *target, desk.do_step(target->round, target->mark, named, *words));
    });
}

void add_felt(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("felt", tr("A stretch of rope was looked at and felt, all round"));
    auto target = add_target(command, true);
    auto from = std::make_shared<std::string>();
    auto to = std::make_shared<std::string>();
    command.add_option("--from", *from, tr("from here, such as 12m; else where you left off"));
    command.add_option("--to", *to, tr("up to here, such as 18m"))->required();
    command.callback([&session, target, from, to] {
        std::optional<Millimetres> start;
        if (*from == "0" || *from == "0m") {
            start = Millimetres(0.0);
        } else if (!from->empty()) {
            start = length_along_of("--from", *from);
        }
        desk::Desk desk = open_desk(session, target->who);
        print_after(session, desk, *target,
                    desk.felt_stretch(target->round, target->mark, start, length_along_of("--to", *to)));
    });
}

void add_finding(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("finding", tr("Something was felt or seen"));
    auto target = add_target(command, true);
    auto finding = std::make_shared<record::Finding>();
    auto at = std::make_shared<std::string>();
    command.add_option("--kind", finding->kind, tr("a kind of finding: see 'finding kinds'"))->required();
    command.add_option("--at", *at, tr("how far along the item from its marked end, such as 3.2m"));
    command.add_option("--side", finding->side, tr("which side, in your words"));
    command.add_option("--words", finding->words, tr("more, in your words"));
    add_caution(command);
    command.callback([&session, target, finding, at] {
        if (!at->empty()) finding->station = length_along_of("--at", *at);
        desk::Desk desk = open_desk(session, target->who);
        print_after(session, desk, *target, desk.add_check_finding(target->round, target->mark, *finding));
    });
}

void add_result(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand(
        "result",
        tr("Give your result of a check; it is your own word, the program says of no item that it is fit"));
    auto target = add_target(command, true);
    auto result = std::make_shared<std::string>();
    auto order = std::make_shared<desk::CheckOrder>();
    command.add_option("RESULT", *result, typed_results())->required();
    command.add_option("--words", order->words, tr("what to watch, or why"));
    command.add_option("--witness", order->witness, tr("with retire: who saw the destruction"));
    add_caution(command);
    command.callback([&session, target, result, order] {
        order->result = choice_of("RESULT", *result, record::check_result_named, record::all_check_results(),
                                  [](record::CheckResult each) { return record::name_of(each); });
        desk::Desk desk = open_desk(session, target->who);
        const record::ItemCheck check = desk.finish_check(target->round, target->mark, *order);
        if (target->json) return print_json(session.out, record::as_json(check));
        session.out << fmt::format("{}: {}\n", check.item, result_words(check));
        for (const std::string& against : check.against)
            session.out << "  " << against_words(against) << '\n';
        if (check.next_due) session.out << "  " << trf("next check due {}", to_text(*check.next_due)) << '\n';
        // Translators: an item's mark and its state: "K-12 is on hold".
        session.out << "  " << trf("{} is {}", check.item, record::words_for(desk.item(check.item).status))
                    << '\n';
    });
}

void add_end(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("end", tr("End a round; items that still wait are left out"));
    auto round = std::make_shared<std::string>();
    auto who = std::make_shared<std::string>();
    command.add_option("ROUND", *round, tr("the round's number"))->required();
    add_by_option(command, *who);
    command.callback([&session, round, who] {
        desk::Desk desk = open_desk(session, *who);
        desk.end_round(*round);
        print_round(session.out, desk.check_round(*round));
    });
}

}  // namespace

void add_check_command(CLI::App& app, Session& session) {
    CLI::App& group =
        *app.add_subcommand("check", tr("Checks at regular times: what is due, and item by item by hand"));
    group.require_subcommand(1);
    add_due(group, session);
    add_interval(group, session);
    add_start(group, session);
    add_list(group, session);
    add_show(group, session);
    add_plain(
        group, session, "begin", tr("Begin with an item: shows its last findings and what to do"),
        [](desk::Desk& desk, const Target& target) { return desk.begin_check(target.round, target.mark); });
    add_step(group, session);
    add_felt(group, session);
    add_finding(group, session);
    add_plain(
        group, session, "pause", tr("Rest, or go on another day"),
        [](desk::Desk& desk, const Target& target) { return desk.pause_check(target.round, target.mark); });
    add_plain(
        group, session, "resume", tr("Go on after a pause"),
        [](desk::Desk& desk, const Target& target) { return desk.resume_check(target.round, target.mark); });
    add_result(group, session);
    add_end(group, session);
}

}  // namespace frayhold::cli
