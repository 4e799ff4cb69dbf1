// SPDX-License-Identifier: Apache-2.0
#include "web/check_pages.h"

#include <fmt/format.h>

#include <algorithm>

#include "desk/item_subject.h"
#include "language/tr.h"
#include "record/text.h"
#include "web/case_page.h"
#include "web/item_pages.h"
#include "web/listing.h"

namespace frayhold::web {
namespace {

using nlohmann::json;
using record::CheckState;

std::string round_path(const std::string& round) {
    return "/round/" + percent_encoded(round);
}

std::optional<Date> day_typed(const std::string& text, const std::string& name) {
    const std::string typed = record::trimmed(text);
    if (typed.empty()) return std::nullopt;
    const std::optional<Date> day = record::parse_label_date(typed);
    if (!day)
        throw Failure(Fault::input, name, trf("\"{}\" is no day", record::as_plain_text(typed)),
                      "give one such as 2026-02-28");
    return day;
}

std::string use_words(record::UseRate use) {
    return use == record::UseRate::unknown ? tr("every use") : record::words_for(use);
}

// ---- Due ----

json round_lines(const std::vector<record::CheckRound>& rounds) {
    json lines = json::array();
    for (const record::CheckRound& round : rounds)
        lines.push_back({{"number", round.number},
                         {"href", round_path(round.number)},
                         {"scope", record::scope_words(round)},
                         {"started", trf("{0} by {1}", day_words(round.started), round.started_by)},
                         {"ended", round.ended ? day_words(*round.ended) : ""}});
    return lines;
}

json due_line(const desk::DueCheck& line) {
    json out{{"mark", line.item.mark},
             {"href", item_path(line.item.mark)},
             {"what", record::trimmed(line.item.maker + " " + line.item.model)},
             {"kind", record::words_for(line.item.kind)},
             {"checked", line.checked ? to_text(*line.checked) : tr("never")},
             {"due", line.checked ? to_text(line.due) : tr("at once")},
             {"limit", line.item.limit},
             {"where", line.item.kit.empty() ? line.item.place : line.item.kit}};
    if (line.life.counts_as_over()) out["life"] = line.life.words;
    if (!line.in_round.empty()) {
        out["round"] = line.in_round;
        out["round_href"] = sheet_path(line.in_round, line.item.mark);
    }
    return out;
}

json checks_data(const Visit& visit) {
    const Request& request = visit.request;
    constexpr int latest = 12;
    const std::string kit = request.field("kit"), place = request.field("place"), by = request.field("by");
    json data{{"title", tr("Checks")}, {"kit", kit}, {"place", place}, {"by", by}};
    data["running"] = round_lines(visit.desk.check_rounds(true, latest));
    data["rounds"] = round_lines(visit.desk.check_rounds(false, latest));
    data["has_running"] = !data["running"].empty();
    data["has_rounds"] = !data["rounds"].empty();
    constexpr int most_kits = 200;
    data["kits"] = visit.desk.kit_names(most_kits);
    return data;
}

// ---- A round ----

json round_line(const record::ItemCheck& check) {
    const bool under_way = check.state == CheckState::begun || check.state == CheckState::paused;
    return {{"turn", check.turn},
            {"mark", check.item},
            {"href", sheet_path(check.round, check.item)},
            {"state", record::words_for(check.state)},
            {"under_way", under_way},
            {"result", check.result ? record::words_for(*check.result) : ""},
            {"words", check.words},
            {"by", check.done_by},
            {"hold", check.hold},
            {"hold_href", hold_path(check.hold)}};
}

// The check that is under the hands, else the first that waits.
const record::ItemCheck* next_check(const std::vector<record::ItemCheck>& checks) {
    for (const CheckState state : {CheckState::begun, CheckState::paused, CheckState::waiting})
        for (const record::ItemCheck& check : checks)
            if (check.state == state) return &check;
    return nullptr;
}

json round_data(const Visit& visit, const desk::RoundView& view) {
    const Paging paging(visit.request);
    json data{{"title", view.round.number}, {"round", view.round.number}};
    data["path"] = round_path(view.round.number);
    data["scope"] = record::scope_words(view.round);
    data["started"] = trf("{0} by {1}", day_words(view.round.started), view.round.started_by);
    if (view.round.due_by) data["due_by"] = to_text(*view.round.due_by);
    if (view.round.ended)
        data["ended"] = trf("{0} by {1}", day_words(*view.round.ended), view.round.ended_by);
    data["running"] = !view.round.ended.has_value();
    const auto done =
        std::count_if(view.checks.begin(), view.checks.end(),
                      [](const record::ItemCheck& check) { return check.state == CheckState::done; });
    data["done"] = done;
    data["all"] = view.checks.size();
    if (const record::ItemCheck* next = view.round.ended ? nullptr : next_check(view.checks))
        data["next"] = {{"href", sheet_path(next->round, next->item)},
                        {"words", next->state == CheckState::waiting ? trf("Begin with {}", next->item)
                                                                     : trf("Go on with {}", next->item)}};
    json lines = json::array();
    const auto from = static_cast<std::size_t>(paging.offset());
    for (std::size_t i = from;
         i < std::min(view.checks.size(), from + static_cast<std::size_t>(paging.limit())); ++i)
        lines.push_back(round_line(view.checks[i]));
    paging.put_into(data, lines, round_path(view.round.number), {});
    return data;
}

// ---- One item of it ----

const record::StepDone* done_step(const record::ItemCheck& check, record::CheckStep step) {
    for (const record::StepDone& done : check.steps)
        if (done.step == step) return &done;
    return nullptr;
}

std::string metres(double mm) {
    return record::length_words(Millimetres(mm));
}

// How far along the rope the hands are, and what is still open.
json felt_data(const record::ItemCheck& check, const record::Item& item) {
    json data{{"known", item.length.has_value()}};
    if (!item.length) return data;
    const std::vector<record::Stretch> open = record::not_yet_felt(check.felt, *item.length);
    double left_mm = 0.0;
    json stretches = json::array();
    for (const record::Stretch& stretch : open) {
        left_mm += stretch.to_mm - stretch.from_mm;
        // Translators: a stretch of rope, "3 m to 12 m".
        stretches.push_back({{"words", trf("{} to {}", metres(stretch.from_mm), metres(stretch.to_mm))}});
    }
    const double whole_mm = item.length->value();
    data["length"] = record::length_words(*item.length);
    data["open"] = stretches;
    data["done"] = open.empty();
    data["share"] = fmt::format("{:.0f}", 100.0 * (whole_mm - left_mm) / whole_mm);
    if (!open.empty()) {
        data["from"] = metres(open.front().from_mm);
        data["end"] = metres(open.front().to_mm);
    }
    return data;
}

json step_lines(const desk::CheckSheet& sheet) {
    json lines = json::array();
    bool next_found = false;
    for (const record::CheckStep step : record::steps_for(sheet.item.kind)) {
        json line{{"name", record::name_of(step)}, {"words", record::words_for(step)}};
        bool done = false;
        if (step == record::CheckStep::every_metre) {
            line["metres"] = true;
            line["felt"] = felt_data(sheet.check, sheet.item);
            done = line["felt"].value("done", false);
        } else if (const record::StepDone* entry = done_step(sheet.check, step)) {
            done = true;
            line["note"] = entry->words;
            line["by"] = entry->done_by;
        }
        line["done"] = done;
        line["next"] = !done && !next_found;
        next_found = next_found || !done;
        lines.push_back(std::move(line));
    }
    return lines;
}

json finding_lines(const record::ItemCheck& check) {
    json lines = json::array();
    for (const record::Finding& finding : check.findings) {
        json line = finding_line(finding);
        line["advice"] = advice_lines(finding.advice);
        lines.push_back(std::move(line));
    }
    return lines;
}

json result_choices(const Visit& visit, const std::string& chosen) {
    json list = json::array();
    for (const record::CheckResult result : record::all_check_results()) {
        const bool ends_life = result == record::CheckResult::retire;
        if (ends_life && !visit.may(Task::decide)) continue;
        list.push_back(
            {{"name", record::name_of(result)},
             {"words", record::words_for(result)},
             {"chosen", record::name_of(result) == chosen},
             {"note", ends_life ? tr("your verdict as the competent person ends it at once")
                      : result == record::CheckResult::hold ? tr("a hold is opened with these findings")
                                                            : ""}});
    }
    return list;
}

// Since when the hands have been at work without a pause.
Time at_work_since(const record::ItemCheck& check) {
    Time since = *check.begun;
    for (const record::CheckPause& pause : check.pauses)
        if (pause.resumed) since = std::max(since, *pause.resumed);
    return since;
}

json sheet_data(const Visit& visit, const desk::CheckSheet& sheet) {
    const Request& request = visit.request;
    const record::ItemCheck& check = sheet.check;
    const record::Item& item = sheet.item;
    json data{{"title", item.mark + ", " + check.round}, {"mark", item.mark}, {"round", check.round}};
    data["path"] = round_path(check.round);
    data["item_href"] = item_path(item.mark);
    data["what"] = record::trimmed(item.maker + " " + item.model);
    data["kind"] = record::words_for(item.kind);
    data["serial"] = item.serial;
    data["limit"] = item.limit;
    data["life"] = sheet.life.words;
    data["life_over"] = sheet.life.counts_as_over();
    data["state"] = record::words_for(check.state);
    data["earlier"] = check_lines(sheet.earlier);
    data["has_earlier"] = !sheet.earlier.empty();
    data["holds"] = earlier_lines(sheet.holds);
    data["has_holds"] = !sheet.holds.empty();
    data["waiting"] = check.state == CheckState::waiting;
    data["begun"] = check.state == CheckState::begun;
    data["paused"] = check.state == CheckState::paused;
    data["over"] = check.state == CheckState::done || check.state == CheckState::left_out;
    data["started"] = check.state != CheckState::waiting;
    data["steps"] = step_lines(sheet);
    data["findings"] = finding_lines(check);
    data["left"] = recorded_lines(sheet.left);
    data["all_done"] = sheet.left.empty();
    data["rest"] = sheet.rest;
    if (check.state == CheckState::begun && record::can_be_cut(item.kind)) {
        data["since"] = to_text(at_work_since(check));
        data["rest_after"] = record::rest_after.count();
    }
    json kinds = json::array();
    for (const criteria::FindingKind& kind :
         visit.house.criteria->findings(desk::criteria_subject(item.kind)))
        kinds.push_back({{"name", kind.name},
                         {"words", tr_word(kind.words)},
                         {"chosen", kind.name == request.field("kind")}});
    data["kinds"] = kinds;
    for (const char* field : {"at", "side", "words", "witness"}) data[field] = request.field(field);
    data["may_give_result"] = visit.may(Task::result);
    data["may_retire"] = visit.may(Task::decide);
    data["results"] = result_choices(visit, request.field("result"));
    if (check.result) {
        data["result"] = record::words_for(*check.result);
        data["result_words"] = check.words;
        data["result_by"] = check.done_by;
        data["against"] = recorded_lines(check.against);
        if (check.next_due) data["next_due"] = to_text(*check.next_due);
        if (!check.hold.empty()) data["hold"] = {{"number", check.hold}, {"href", hold_path(check.hold)}};
    }
    if (check.state != CheckState::done) return data;
    const desk::RoundView round = visit.desk.check_round(check.round);
    if (const record::ItemCheck* next = round.round.ended ? nullptr : next_check(round.checks))
        data["next"] = {{"mark", next->item}, {"href", sheet_path(next->round, next->item)}};
    return data;
}

Answer sheet_again(const Visit& visit, const std::string& round, const std::string& mark,
                   const Error& error) {
    return visit.page_again("check", sheet_data(visit, visit.desk.check_sheet(round, mark)), error);
}

// Up to where the rope was felt: a place, or so many metres further.
Millimetres felt_to(const Visit& visit, const std::string& round, const std::string& mark) {
    const std::string further = visit.request.field("further");
    if (further.empty()) {
        const auto to = length_typed(visit.request.field("to"), tr("felt up to"));
        if (!to) throw Failure(Fault::input, tr("felt up to"), "it is missing", "give a place such as 12 m");
        return *to;
    }
    const auto step = length_typed(further, tr("so much further"));
    const desk::CheckSheet sheet = visit.desk.check_sheet(round, mark);
    if (!step || !sheet.item.length)
        throw Failure(Fault::refused, mark, "its length is not recorded", "measure it and record it");
    const std::vector<record::Stretch> open = record::not_yet_felt(sheet.check.felt, *sheet.item.length);
    if (open.empty()) return *sheet.item.length;
    return std::min(Millimetres(open.front().from_mm + step->value()), Millimetres(open.front().to_mm));
}

void do_action(const Visit& visit, const std::string& round, const std::string& mark,
               const std::string& action) {
    const Request& request = visit.request;
    desk::Desk& desk = visit.desk;
    if (action == "begin") {
        (void)desk.begin_check(round, mark);
    } else if (action == "step") {
        const auto step = record::check_step_named(request.field("step"));
        if (!step) throw Failure(Fault::input, tr("step"), "none is named", "choose one of the sheet");
        (void)desk.do_step(round, mark, *step, request.field("words"));
    } else if (action == "felt") {
        (void)desk.felt_stretch(round, mark, length_typed(request.field("from"), tr("felt from")),
                                felt_to(visit, round, mark));
    } else if (action == "finding") {
        (void)desk.add_check_finding(round, mark, typed_finding(request));
    } else if (action == "pause") {
        (void)desk.pause_check(round, mark);
    } else if (action == "resume") {
        (void)desk.resume_check(round, mark);
    } else {
        throw Failure(Fault::input, tr("check"), "there is no such action", "use the buttons of the sheet");
    }
}

}  // namespace

std::string sheet_path(const std::string& round, const std::string& mark) {
    return round_path(round) + "/item?mark=" + percent_encoded(mark);
}

Answer checks_page(const Visit& visit) {
    const Request& request = visit.request;
    const Paging paging(request);
    json data = checks_data(visit);
    desk::DueFilter filter;
    filter.kit = request.field("kit");
    filter.place = request.field("place");
    filter.by = day_typed(request.field("by"), tr("due by"));
    filter.limit = paging.limit();
    filter.offset = paging.offset();
    json lines = json::array();
    for (const desk::DueCheck& line : visit.desk.due_checks(filter)) lines.push_back(due_line(line));
    paging.put_into(data, lines, "/checks",
                    {{"kit", filter.kit}, {"place", filter.place}, {"by", request.field("by")}});
    return visit.page("checks", std::move(data));
}

Answer start_round(const Visit& visit) {
    const Request& request = visit.request;
    try {
        const std::string over = request.field("over");
        desk::RoundOrder order;
        if (over == "kit") order.kit = record::trimmed(request.field("kit"));
        if (over == "place") order.place = record::trimmed(request.field("place"));
        if (over != "all" && order.kit.empty() && order.place.empty())
            throw Failure(Fault::input, tr("round"), "it is not said what to check",
                          "name a kit or a place, or choose the whole store");
        order.due_by = day_typed(request.field("due_by"), tr("due by"));
        const desk::RoundView view = visit.desk.start_round(order);
        return Answer::go_to(round_path(view.round.number));
    } catch (const Failure& failure) {
        json data = checks_data(visit);
        data["lines"] = json::array();
        data["no_list"] = true;
        for (const char* field : {"due_by", "over"}) data[field] = request.field(field);
        return visit.page_again("checks", std::move(data), failure.error());
    }
}

Answer intervals_page(const Visit& visit) {
    const Request& request = visit.request;
    json data{{"title", tr("Time between two checks")}};
    std::optional<Error> error;
    if (visit.is_post()) {
        try {
            const auto kind = record::kind_named(request.field("kind"));
            if (!kind) throw Failure(Fault::input, tr("kind"), "none is chosen", "choose a kind of item");
            const auto use = record::use_rate_named(request.field("use"));
            if (!use) throw Failure(Fault::input, tr("use"), "none is chosen", "choose how often it is used");
            const int months = whole_number(record::trimmed(request.field("months")), tr("months"));
            visit.desk.set_check_interval(*kind, *use, months == 0 ? std::nullopt : std::optional(months));
            return Answer::go_to("/checks/intervals");
        } catch (const Failure& failure) {
            error = failure.error();
        }
    }
    json lines = json::array();
    for (const desk::CheckInterval& set : visit.desk.check_intervals())
        lines.push_back(
            {{"kind", record::words_for(set.kind)}, {"use", use_words(set.use)}, {"months", set.months}});
    data["lines"] = lines;
    data["none"] = lines.empty();
    data["kinds"] = choices(record::all_kinds(), request.field("kind"));
    json uses = json::array();
    for (const record::UseRate use : record::all_use_rates())
        uses.push_back({{"name", record::name_of(use)},
                        {"words", use_words(use)},
                        {"chosen", record::name_of(use) == request.field("use")}});
    data["uses"] = uses;
    data["months"] = request.field("months");
    data["usual"] = record::usual_check_months(record::UseRate::regular);
    data["usual_heavy"] = record::usual_check_months(record::UseRate::heavy);
    return error ? visit.page_again("intervals", std::move(data), *error)
                 : visit.page("intervals", std::move(data));
}

Answer round_page(const Visit& visit, const std::string& round) {
    if (!visit.is_post()) return visit.page("round", round_data(visit, visit.desk.check_round(round)));
    try {
        (void)visit.desk.end_round(round);
        return Answer::go_to(round_path(round));
    } catch (const Failure& failure) {
        return visit.page_again("round", round_data(visit, visit.desk.check_round(round)), failure.error());
    }
}

Answer sheet_page(const Visit& visit, const std::string& round) {
    return visit.page("check", sheet_data(visit, visit.desk.check_sheet(round, visit.request.field("mark"))));
}

Answer sheet_action(const Visit& visit, const std::string& round, const std::string& action) {
    const std::string mark = visit.request.field("mark");
    try {
        do_action(visit, round, mark, action);
        return Answer::go_to(sheet_path(round, mark) + "#now");
    } catch (const Failure& failure) {
        return sheet_again(visit, round, mark, failure.error());
    }
}

Answer sheet_result(const Visit& visit, const std::string& round) {
    const Request& request = visit.request;
    const std::string mark = request.field("mark");
    try {
        const auto result = record::check_result_named(request.field("result"));
        if (!result) throw Failure(Fault::input, tr("result"), "none is chosen", "choose your result");
        if (*result == record::CheckResult::retire && !visit.may(Task::decide))
            throw Failure(Fault::refused, tr("result"),
                          "retiring is a competent person's verdict, and this is a keeper's phone",
                          "choose hold, and let the competent person decide");
        desk::CheckOrder order;
        order.result = *result;
        order.words = request.field("words");
        order.witness = request.field("witness");
        (void)visit.desk.finish_check(round, mark, order);
        return Answer::go_to(sheet_path(round, mark));
    } catch (const Failure& failure) {
        return sheet_again(visit, round, mark, failure.error());
    }
}

}  // namespace frayhold::web
