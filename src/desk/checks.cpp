// SPDX-License-Identifier: Apache-2.0
#include "store/checks.h"

#include <algorithm>

#include "desk/in_language.h"
#include "desk/inside.h"
#include "language/tr.h"
#include "record/check.h"
#include "record/json.h"
#include "record/text.h"
#include "store/case_file.h"
#include "store/evidence.h"
#include "store/holds.h"
#include "store/items.h"

// Rounds of checks: what is due, item by item in a guided order, and what a person's result leads to.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;
using record::CheckState;

record::CheckRound round_named(const store::Database& database, const std::string& number) {
    if (std::optional<record::CheckRound> found = store::find_round(database, number))
        return *std::move(found);
    throw Failure(Fault::input, trf("round {}", record::as_plain_text(number)),
                  "there is no such round of checks", "look up its number in the list of rounds");
}

record::ItemCheck check_in(const store::Database& database, const std::string& round,
                           const std::string& mark) {
    static_cast<void>(round_named(database, round));
    if (std::optional<record::ItemCheck> found = store::find_check(database, round, mark))
        return *std::move(found);
    throw Failure(Fault::input, trf("round {}", round),
                  trf("item {} is not part of it", record::as_plain_text(mark)),
                  "look up the marks of the round");
}

[[noreturn]] void refuse(const record::ItemCheck& check, const std::string& what, const std::string& mend) {
    throw Failure(Fault::refused, trf("check of {}", check.item), what, mend);
}

// Work is entered only while the check is under the hands.
record::ItemCheck begun_check(const store::Database& database, const std::string& round,
                              const std::string& mark) {
    record::ItemCheck check = check_in(database, round, mark);
    if (check.state == CheckState::waiting) refuse(check, tr("it is not begun"), tr("begin it first"));
    if (check.state == CheckState::paused) refuse(check, tr("it is paused"), tr("go on with it first"));
    if (check.state != CheckState::begun) refuse(check, tr("it is over"), tr("begin a new round"));
    return check;
}

std::string subject_of(const record::ItemCheck& check) {
    return check.round + " " + check.item;
}

std::vector<std::string> marks_for(const store::Database& database, const RoundOrder& order) {
    std::vector<std::string> marks;
    if (order.due_by) {
        store::DueSearch search;
        search.kit = order.kit;
        search.place = order.place;
        search.by = *order.due_by;
        for (const store::DueItem& item : store::due_items(database, search)) marks.push_back(item.mark);
        return marks;
    }
    for (const record::ItemStatus status :
         {record::ItemStatus::in_service, record::ItemStatus::in_service_with_limit}) {
        store::ItemSearch search;
        search.kit = order.kit;
        search.place = order.place;
        search.status = status;
        for (const record::Item& item : store::search_items(database, search)) marks.push_back(item.mark);
    }
    std::sort(marks.begin(), marks.end());
    return marks;
}

}  // namespace

std::vector<DueCheck> Desk::due_checks(const DueFilter& filter) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    store::DueSearch search;
    search.kit = filter.kit;
    search.place = filter.place;
    search.by = filter.by.value_or(today());
    search.limit = filter.limit;
    search.offset = filter.offset;
    std::vector<DueCheck> due;
    for (const store::DueItem& found : store::due_items(inside_->database(), search)) {
        DueCheck line;
        line.item = inside_->item(found.mark);
        line.checked = found.checked;
        line.due = found.due;
        line.life = record::life_end(line.item, today());
        line.in_round = store::running_round_of(inside_->database(), found.mark).value_or("");
        due.push_back(std::move(line));
    }
    return due;
}

std::vector<CheckInterval> Desk::check_intervals() const {
    return store::check_intervals(inside_->database());
}

void Desk::set_check_interval(record::Kind kind, record::UseRate use, std::optional<int> months) {
    inside_->need_person();
    constexpr int most_months = 120;
    if (months && (*months < 1 || *months > most_months))
        throw Failure(Fault::input, tr("months"), trf("{} months is no interval between checks", *months),
                      "give 1 to 120 whole months");
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    store::set_check_interval(inside_->database(), kind, use, months);
    store::refresh_due(inside_->database(), kind);
    nlohmann::ordered_json details{{"use", name_of(use)}};
    details["months"] = months ? nlohmann::ordered_json(*months) : nlohmann::ordered_json(nullptr);
    inside_->tell_journal(now, "check.interval", std::string(name_of(kind)), details);
    transaction.commit();
}

RoundView Desk::start_round(const RoundOrder& order) {
    inside_->need_person();
    need_plain_text(tr("kit"), order.kit);
    need_plain_text(tr("place"), order.place);
    if (!order.kit.empty() && !order.place.empty())
        throw Failure(Fault::usage, tr("the round"), "it names a kit and a place", "name one of them");
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    RoundView view;
    view.round.kit = order.kit;
    view.round.place = order.place;
    view.round.due_by = order.due_by;
    view.round.started_by = inside_->setup.who;
    view.round.started = now;
    std::vector<std::string> marks;
    for (const std::string& mark : marks_for(inside_->database(), order)) {
        if (const auto other = store::running_round_of(inside_->database(), mark)) {
            view.elsewhere.push_back(mark + " (" + *other + ")");
        } else {
            marks.push_back(mark);
        }
    }
    if (marks.empty())
        throw Failure(Fault::refused, record::scope_words(view.round),
                      view.elsewhere.empty() ? tr("no item in service is to be checked there")
                                             : tr("every item there waits in another round already"),
                      view.elsewhere.empty() ? tr("look at the list of items")
                                             : tr("go on with that round, or end it"));
    view.round = store::insert_round(inside_->database(), std::move(view.round));
    for (const std::string& mark : marks) {
        record::ItemCheck check;
        check.round = view.round.number;
        check.turn = static_cast<int>(view.checks.size()) + 1;
        check.item = mark;
        store::insert_check(inside_->database(), check);
        view.checks.push_back(std::move(check));
    }
    nlohmann::ordered_json details = record::as_json(view.round);
    details["items"] = marks;
    inside_->tell_journal(now, "round.start", view.round.number, details);
    transaction.commit();
    return view;
}

std::vector<record::CheckRound> Desk::check_rounds(bool running_only, int limit) const {
    return store::rounds(inside_->database(), running_only, limit);
}

RoundView Desk::check_round(const std::string& round) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    return {round_named(inside_->database(), round), store::checks_of_round(inside_->database(), round), {}};
}

CheckSheet Desk::check_sheet(const std::string& round, const std::string& mark) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    constexpr int latest = 5;
    CheckSheet sheet;
    sheet.check = check_in(inside_->database(), round, mark);
    sheet.item = inside_->item(mark);
    sheet.life = record::life_end(sheet.item, today());
    for (record::ItemCheck& earlier : store::checks_of_item(inside_->database(), mark, latest))
        if (earlier.round != round) sheet.earlier.push_back(std::move(earlier));
    sheet.holds = store::earlier_holds(inside_->database(), mark);
    sheet.left = record::still_to_check(sheet.check, sheet.item);
    sheet.rest = record::rest_words(sheet.check, sheet.item, inside_->now());
    return sheet;
}

record::ItemCheck Desk::begin_check(const std::string& round, const std::string& mark) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::ItemCheck check = check_in(inside_->database(), round, mark);
    if (check.state != CheckState::waiting)
        refuse(check, trf("it is {} already", words_for(check.state)), tr("go on with it as it is"));
    if (const record::Item item = inside_->item(mark); !record::is_in_service(item.status))
        refuse(check, trf("{} is {} since the round was started", mark, words_for(item.status)),
               tr("leave it out: it is not in service"));
    check.state = CheckState::begun;
    check.begun = now;
    check.begun_by = inside_->setup.who;
    store::update_check(inside_->database(), check);
    inside_->tell_journal(now, "check.begin", subject_of(check), {{"round", round}, {"item", mark}});
    transaction.commit();
    return check;
}

record::ItemCheck Desk::do_step(const std::string& round, const std::string& mark, record::CheckStep step,
                                const std::string& words) {
    inside_->need_person();
    need_plain_text(tr("words"), words);
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::ItemCheck check = begun_check(inside_->database(), round, mark);
    const std::vector<record::CheckStep> asked = record::steps_for(inside_->item(mark).kind);
    if (std::find(asked.begin(), asked.end(), step) == asked.end())
        refuse(check, tr("this kind of item has no such step"), tr("see the steps on its sheet"));
    if (step == record::CheckStep::every_metre)
        refuse(check, tr("the metres are entered as stretches"), tr("say how far you have felt"));
    for (const record::StepDone& done : check.steps)
        if (done.step == step) refuse(check, tr("this step is done already"), tr("go on with the next"));
    const record::StepDone done{step, record::trimmed(words), inside_->setup.who, now};
    store::insert_step(inside_->database(), check, done);
    check.steps.push_back(done);
    inside_->tell_journal(now, "check.step", subject_of(check),
                          {{"step", name_of(step)}, {"words", done.words}});
    transaction.commit();
    return check;
}

record::ItemCheck Desk::felt_stretch(const std::string& round, const std::string& mark,
                                     std::optional<Millimetres> from, Millimetres to) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::ItemCheck check = begun_check(inside_->database(), round, mark);
    const record::Item item = inside_->item(mark);
    if (!record::can_be_cut(item.kind))
        refuse(check, tr("only rope and cord is felt metre by metre"), tr("do its steps"));
    if (!item.length)
        refuse(check, trf("the length of {} is not recorded", mark),
               tr("measure it and record it with the item"));
    record::Stretch stretch;
    const std::vector<record::Stretch> open = record::not_yet_felt(check.felt, *item.length);
    stretch.from_mm = from ? from->value() : (open.empty() ? 0.0 : open.front().from_mm);
    stretch.to_mm = to.value();
    if (!(stretch.from_mm >= 0.0) || !(stretch.to_mm > stretch.from_mm) || !(to <= *item.length))
        throw Failure(Fault::input, tr("stretch"),
                      trf("{} to {} is no stretch of {}, which is {} long",
                          record::length_words(Millimetres(stretch.from_mm)), record::length_words(to), mark,
                          record::length_words(*item.length)),
                      "measure from the marked end");
    store::insert_stretch(inside_->database(), check, stretch, inside_->setup.who, now);
    check.felt.push_back(stretch);
    inside_->tell_journal(now, "check.felt", subject_of(check),
                          {{"from_mm", stretch.from_mm}, {"to_mm", stretch.to_mm}});
    transaction.commit();
    return check;
}

record::ItemCheck Desk::add_check_finding(const std::string& round, const std::string& mark,
                                          record::Finding finding) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::ItemCheck check = begun_check(inside_->database(), round, mark);
    finding = inside_->weighed_finding(inside_->item(mark), std::move(finding), now);
    finding.hold.clear();
    finding = store::insert_check_finding(inside_->database(), check, std::move(finding));
    nlohmann::ordered_json details = record::as_json(finding);
    check.findings.push_back(std::move(finding));
    inside_->tell_journal(now, "check.finding", subject_of(check), details);
    transaction.commit();
    return check;
}

record::ItemCheck Desk::pause_check(const std::string& round, const std::string& mark) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::ItemCheck check = begun_check(inside_->database(), round, mark);
    const record::CheckPause pause{now, inside_->setup.who, std::nullopt, ""};
    store::insert_pause(inside_->database(), check, pause);
    check.pauses.push_back(pause);
    check.state = CheckState::paused;
    store::update_check(inside_->database(), check);
    inside_->tell_journal(now, "check.pause", subject_of(check), nlohmann::ordered_json::object());
    transaction.commit();
    return check;
}

record::ItemCheck Desk::resume_check(const std::string& round, const std::string& mark) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::ItemCheck check = check_in(inside_->database(), round, mark);
    if (check.state != CheckState::paused)
        refuse(check, tr("it is not paused"), tr("go on with it as it is"));
    record::CheckPause& pause = check.pauses.back();
    pause.resumed = now;
    pause.resumed_by = inside_->setup.who;
    store::end_pause(inside_->database(), check, pause);
    check.state = CheckState::begun;
    store::update_check(inside_->database(), check);
    inside_->tell_journal(now, "check.resume", subject_of(check), nlohmann::ordered_json::object());
    transaction.commit();
    return check;
}

record::ItemCheck Desk::finish_check(const std::string& round, const std::string& mark,
                                     const CheckOrder& order) {
    inside_->need_person();
    need_plain_text(tr("words"), order.words);
    need_plain_text(tr("witness"), order.witness);
    const Time now = inside_->now();
    const Date day = day_of(now);
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::ItemCheck check = begun_check(inside_->database(), round, mark);
    const record::Item item = inside_->item(mark);
    check.against =
        recorded([&] { return record::check_result(check, item, order.result, order.words, day); });
    check.words = record::trimmed(order.words);
    check.result = order.result;
    check.state = CheckState::done;
    check.done = now;
    check.done_by = inside_->setup.who;
    const bool out_of_service =
        order.result == record::CheckResult::hold || order.result == record::CheckResult::retire;
    if (out_of_service) {
        // Another doubt may have put it on hold meanwhile: then the findings go there.
        const std::optional<record::Hold> running = store::running_hold(inside_->database(), mark);
        const record::Hold hold =
            running ? *running
                    : inside_->open_hold(
                          item, in_english([&] { return record::seen_words(check, order.words); }), "", now);
        check.hold = hold.number;
        for (record::Finding finding : check.findings) {
            finding.hold = hold.number;
            finding = store::insert_finding(inside_->database(), std::move(finding));
            inside_->tell_journal(now, "finding.add", hold.number, record::as_json(finding));
        }
        inside_->move_by_evidence(hold.number, now);
    } else {
        check.next_due = add_months(day, store::check_months(inside_->database(), item.kind, item.use));
    }
    store::update_check(inside_->database(), check);
    // Should it come back into service, it is due from this day on.
    store::set_checked(inside_->database(), mark, day, check.next_due.value_or(day));
    inside_->tell_journal(now, "check.result", subject_of(check), record::as_json(check));
    if (order.result == record::CheckResult::retire) {
        VerdictOrder verdict;
        verdict.kind = record::VerdictKind::retire_and_destroy;
        verdict.by = inside_->setup.who;
        verdict.reason = check.words;
        verdict.witness = order.witness;
        inside_->give_verdict(check.hold, verdict, now);
    }
    transaction.commit();
    return check;
}

record::CheckRound Desk::end_round(const std::string& number) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    record::CheckRound round = round_named(inside_->database(), number);
    if (round.ended)
        throw Failure(Fault::refused, trf("round {}", number), "it has ended already", "start a new one");
    nlohmann::ordered_json left_out = nlohmann::ordered_json::array();
    for (const record::ItemCheck& check : store::checks_of_round(inside_->database(), number)) {
        const bool under_way = check.state == CheckState::begun || check.state == CheckState::paused;
        if (under_way && record::is_in_service(inside_->item(check.item).status))
            refuse(check, trf("it is {} and has no result yet", words_for(check.state)),
                   tr("give its result first"));
        if (under_way || check.state == CheckState::waiting) left_out.push_back(check.item);
    }
    round.ended = now;
    round.ended_by = inside_->setup.who;
    store::end_round(inside_->database(), round);
    inside_->tell_journal(now, "round.end", number, {{"not_checked", left_out}});
    transaction.commit();
    return round;
}

}  // namespace frayhold::desk
