// SPDX-License-Identifier: Apache-2.0
#include "desk/sample_desk.h"

namespace frayhold::desk {
namespace {

using record::CheckResult;
using record::CheckState;
using record::CheckStep;
using record::ItemStatus;
using record::sample::day;

record::Item sling(const std::string& mark) {
    record::Item item;
    item.mark = mark;
    item.kind = record::Kind::sewn_sling;
    item.maker = "Kestrel Loom";
    item.model = "Broadleaf 25";
    item.kit = "climbing kit 2";
    item.made = day("2024-01-10");
    return item;
}

// K-12 (rope) and S-1 (sling) in one kit, a round over it.
std::string round_over_kit(Desk& desk) {
    desk.add_item(record::sample::rope());
    desk.add_item(sling("S-1"));
    RoundOrder order;
    order.kit = "climbing kit 2";
    return desk.start_round(order).round.number;
}

void all_steps(Desk& desk, const std::string& round, const std::string& mark) {
    desk.begin_check(round, mark);
    for (const CheckStep step : record::steps_for(desk.item(mark).kind))
        if (step != CheckStep::every_metre) desk.do_step(round, mark, step, "");
    if (const record::Item item = desk.item(mark); item.length && record::can_be_cut(item.kind))
        desk.felt_stretch(round, mark, std::nullopt, *item.length);
}

CheckOrder order_for(CheckResult result, const std::string& words = "") {
    CheckOrder order;
    order.result = result;
    order.words = words;
    return order;
}

record::Finding felt(const std::string& kind, std::optional<Millimetres> station = std::nullopt) {
    record::Finding finding;
    finding.kind = kind;
    finding.station = station;
    return finding;
}

std::vector<std::string> due_marks(const Desk& desk, const DueFilter& filter = {}) {
    std::vector<std::string> marks;
    for (const DueCheck& line : desk.due_checks(filter)) marks.push_back(line.item.mark);
    return marks;
}

using Marks = std::vector<std::string>;

}  // namespace

TEST_CASE("An item never checked is due at once; a kept one a year on, by the day") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    CHECK(due_marks(desk) == Marks{"K-12", "S-1"});
    CHECK_FALSE(desk.due_checks({})[0].checked.has_value());
    CHECK(desk.due_checks({})[0].in_round == round);
    all_steps(desk, round, "K-12");
    const record::ItemCheck check = desk.finish_check(round, "K-12", order_for(CheckResult::keep));
    CHECK(check.next_due == day("2027-02-28"));
    CHECK(check.done_by == record::sample::keeper);
    CHECK(due_marks(desk) == Marks{"S-1"});
    DueFilter later;
    later.by = day("2027-02-27");
    CHECK(due_marks(desk, later) == Marks{"S-1"});
    later.by = day("2027-02-28");
    CHECK(due_marks(desk, later) == Marks{"S-1", "K-12"});
    later.kit = "another kit";
    CHECK(due_marks(desk, later).empty());
    CHECK(desk.item_history("K-12").check_due == day("2027-02-28"));
    CHECK(desk.item("K-12").status == ItemStatus::in_service);
    sample::check_sound(desk);
}

TEST_CASE("Steps done within one second are listed as on the sheet") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    const std::vector<CheckStep> asked = record::steps_for(record::Kind::sewn_sling);
    desk.begin_check(round, "S-1");
    for (auto step = asked.rbegin(); step != asked.rend(); ++step) desk.do_step(round, "S-1", *step, "");
    const std::vector<record::StepDone> done = desk.check_sheet(round, "S-1").check.steps;
    REQUIRE(done.front().done == done.back().done);
    std::vector<CheckStep> listed;
    for (const record::StepDone& step : done) listed.push_back(step.step);
    CHECK(listed == asked);
}

TEST_CASE("Intervals are the user's, by kind and use; an unknown use counts as the one checked most often") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    all_steps(desk, round, "K-12");
    desk.finish_check(round, "K-12", order_for(CheckResult::keep));
    const auto due = [&] { return desk.item_history("K-12").check_due.value(); };
    desk.set_check_interval(record::Kind::rope_low_stretch, record::UseRate::rare, 18);
    desk.set_check_interval(record::Kind::rope_low_stretch, record::UseRate::heavy, 3);
    CHECK(due() == day("2026-05-28"));
    desk.edit_item("K-12", [](record::Item& item) { item.use = record::UseRate::rare; });
    CHECK(due() == day("2027-08-28"));
    desk.edit_item("K-12", [](record::Item& item) { item.use = record::UseRate::regular; });
    CHECK(due() == day("2027-02-28"));
    desk.set_check_interval(record::Kind::rope_low_stretch, record::UseRate::unknown, 6);
    CHECK(due() == day("2026-08-28"));
    desk.set_check_interval(record::Kind::rope_low_stretch, record::UseRate::unknown, std::nullopt);
    CHECK(due() == day("2027-02-28"));
    CHECK(desk.check_intervals().size() == 2);
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.set_check_interval(record::Kind::harness, record::UseRate::rare, 0);
          }).fault == Fault::input);
    sample::check_sound(desk);
}

TEST_CASE("A round takes what is in service, once") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    desk.add_item(sling("S-2"));
    desk.add_item(sling("S-3"));
    desk.open_hold("S-3", "fuzz");
    const RoundView whole = desk.start_round({});
    REQUIRE(whole.checks.size() == 1);
    CHECK(whole.checks[0].item == "S-2");
    CHECK(whole.elsewhere == Marks{"K-12 (" + round + ")", "S-1 (" + round + ")"});
    CHECK(sample::refused_unchanged(desk, [&] { desk.start_round({}); }).fault == Fault::refused);
    RoundOrder nothing;
    nothing.place = "nowhere";
    CHECK(sample::refused_unchanged(desk, [&] { desk.start_round(nothing); }).what ==
          "no item in service is to be checked there");
    CHECK(desk.check_rounds(true, 10).size() == 2);

    // Ended: what waits is left out, and may be taken again.
    desk.end_round(round);
    CHECK(desk.check_round(round).checks[0].state == CheckState::left_out);
    CHECK(desk.check_rounds(true, 10).size() == 1);
    CHECK(desk.start_round({}).checks.size() == 2);
    CHECK(sample::refused_unchanged(desk, [&] { desk.begin_check(round, "K-12"); }).fault == Fault::refused);
    sample::check_sound(desk);
}

TEST_CASE("Work goes in its order of states, with pause and go on") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    const auto refused = [&](const auto& action) { return sample::refused_unchanged(desk, action).what; };
    CHECK(refused([&] { desk.do_step(round, "K-12", CheckStep::stitching, ""); }) == "it is not begun");
    desk.begin_check(round, "K-12");
    CHECK(refused([&] { desk.begin_check(round, "K-12"); }) == "it is begun already");
    desk.do_step(round, "K-12", CheckStep::stitching, "both ends sound to the eye");
    CHECK(refused([&] { desk.do_step(round, "K-12", CheckStep::stitching, ""); }) ==
          "this step is done already");
    CHECK(refused([&] { desk.do_step(round, "K-12", CheckStep::one_side, ""); }) ==
          "this kind of item has no such step");
    CHECK(refused([&] { desk.do_step(round, "K-12", CheckStep::every_metre, ""); }).find("stretches") !=
          std::string::npos);
    desk.felt_stretch(round, "K-12", std::nullopt, Millimetres(20'000.0));
    CHECK(refused([&] {
              desk.felt_stretch(round, "K-12", std::nullopt, Millimetres(19'000.0));
          }).find("is no stretch of K-12") != std::string::npos);
    CHECK(refused([&] {
              desk.felt_stretch(round, "K-12", std::nullopt, Millimetres(45'001.0));
          }).find("45 m long") != std::string::npos);
    folder.move_clock(std::chrono::minutes(25));
    CHECK(desk.check_sheet(round, "K-12").rest.find("25 minutes") != std::string::npos);
    desk.pause_check(round, "K-12");
    CHECK(desk.check_sheet(round, "K-12").rest.empty());
    CHECK(refused([&] { desk.felt_stretch(round, "K-12", std::nullopt, Millimetres(30'000.0)); }) ==
          "it is paused");
    CHECK(refused([&] { desk.end_round(round); }).find("has no result yet") != std::string::npos);
    folder.move_clock(std::chrono::hours(20));
    desk.resume_check(round, "K-12");
    desk.felt_stretch(round, "K-12", std::nullopt, Millimetres(45'000.0));
    const CheckSheet sheet = desk.check_sheet(round, "K-12");
    REQUIRE(sheet.left.size() == 1);
    CHECK(sheet.left[0].find("Label and identity") != std::string::npos);
    CHECK(sheet.check.felt == std::vector<record::Stretch>{{0.0, 20'000.0}, {20'000.0, 45'000.0}});
    CHECK(sheet.check.pauses.size() == 1);
    CHECK(refused([&] {
              desk.finish_check(round, "K-12", order_for(CheckResult::keep));
          }).find("it is not finished") != std::string::npos);
    CHECK(refused([&] { desk.begin_check(round, "K-99"); }).find("not part of it") != std::string::npos);
    CHECK(refused([&] { desk.begin_check("R-1999-0001", "K-12"); }) == "there is no such round of checks");
    sample::check_sound(desk);
}

TEST_CASE("The last findings stand on the sheet first, and a watched item says what to watch") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    all_steps(desk, round, "K-12");
    const record::ItemCheck found =
        desk.add_check_finding(round, "K-12", felt("gritty", Millimetres(7000.0)));
    REQUIRE(found.findings.size() == 1);
    CHECK(found.findings[0].advice[0].outcome == criteria::Outcome::hold_and_ask);
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.finish_check(round, "K-12", order_for(CheckResult::keep));
          }).what.find("something was found") != std::string::npos);
    const record::ItemCheck watched = desk.finish_check(
        round, "K-12", order_for(CheckResult::keep_and_watch, "wash it, feel the 7 m again"));
    CHECK(watched.against.size() == 1);
    CHECK(desk.item("K-12").status == ItemStatus::in_service);
    desk.end_round(round);

    folder.move_clock(std::chrono::hours(24 * 300));
    RoundOrder again;
    again.kit = "climbing kit 2";
    const std::string next = desk.start_round(again).round.number;
    CHECK(next == "R-2026-0002");
    const CheckSheet sheet = desk.check_sheet(next, "K-12");
    REQUIRE(sheet.earlier.size() == 1);
    CHECK(sheet.earlier[0] == watched);
    CHECK(sheet.earlier[0].findings[0].kind == "gritty");
    CHECK(desk.item_history("K-12").checks.size() == 1);
}

TEST_CASE("A result of hold opens one with the check's findings, in one action") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    desk.begin_check(round, "K-12");
    desk.add_check_finding(round, "K-12", felt("core_seen", Millimetres(3200.0)));
    const record::ItemCheck check =
        desk.finish_check(round, "K-12", order_for(CheckResult::hold, "white shows through"));
    CHECK(desk.item("K-12").status == ItemStatus::on_hold);
    const record::CaseFile file = desk.case_file(check.hold);
    CHECK(file.hold.seen.find("Found at a check: " + round + ": white shows through: ") == 0);
    REQUIRE(file.findings.size() == 1);
    CHECK(file.findings[0].station == Millimetres(3200.0));
    CHECK(file.findings[0].advice[0].outcome == criteria::Outcome::retire);
    CHECK(file.hold.state == record::HoldState::evidence);
    REQUIRE(file.checks.size() == 1);  // the check that opened it stands in the case
    CHECK(file.checks[0].round == round);
    CHECK(file.checks[0].words == "white shows through");
    CHECK(due_marks(desk) == Marks{"S-1"});
    desk.end_round(round);

    // Back in service by a verdict, the next check is due at once, behind what was never checked.
    desk.give_verdict(check.hold,
                      sample::verdict_order(record::VerdictKind::return_to_service, "looked at twice"));
    CHECK(due_marks(desk) == Marks{"S-1", "K-12"});
    CHECK(desk.item_history("K-12").check_due == day("2026-02-28"));
    sample::check_sound(desk);
}

TEST_CASE("A result of retire is that person's verdict, with a witness") {
    const sample::DeskFolder folder;
    Desk desk = folder.open(record::sample::competent_person);
    const std::string round = round_over_kit(desk);
    desk.begin_check(round, "S-1");
    CheckOrder order = order_for(CheckResult::retire, "bar tacks worn through");
    order.witness = record::sample::keeper;
    const record::ItemCheck check = desk.finish_check(round, "S-1", order);
    CHECK(desk.item("S-1").status == ItemStatus::retired);
    const auto verdict = desk.case_file(check.hold).verdict;
    REQUIRE(verdict.has_value());
    CHECK(verdict->by == record::sample::competent_person);
    CHECK(verdict->witness == record::sample::keeper);
    const std::vector<DestroyedItem> gone = desk.destroyed_items(10);
    REQUIRE(gone.size() == 1);
    CHECK(gone[0].item.mark == "S-1");
    CHECK(gone[0].witness == record::sample::keeper);
    CHECK_FALSE(gone[0].scrapped.has_value());
    sample::check_sound(desk);
}

TEST_CASE("Items retired within one second are each on one page of the list") {
    const sample::DeskFolder folder;
    Desk desk = folder.open(record::sample::competent_person);
    CheckOrder order = order_for(CheckResult::retire, "bar tacks worn through");
    order.witness = record::sample::keeper;
    const Marks retired{"S-3", "S-1", "S-2"};
    for (const std::string& mark : retired) desk.add_item(sling(mark));
    const std::string round = desk.start_round({}).round.number;
    for (const std::string& mark : retired) {
        desk.begin_check(round, mark);
        desk.finish_check(round, mark, order);
    }
    Marks listed;
    for (int page = 0; page < 3; ++page) listed.push_back(desk.destroyed_items(1, page).at(0).item.mark);
    CHECK(listed == Marks{"S-1", "S-2", "S-3"});
}

TEST_CASE("An item put on hold while under the hands gets the findings of its check there") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    desk.begin_check(round, "K-12");
    desk.add_check_finding(round, "K-12", felt("stiff"));
    const std::string hold = desk.open_hold("K-12", "a maker's notice").number;
    CHECK(desk.finish_check(round, "K-12", order_for(CheckResult::hold)).hold == hold);
    CHECK(desk.case_file(hold).findings.size() == 1);

    desk.begin_check(round, "S-1");
    desk.open_hold("S-1", "a maker's notice");
    desk.end_round(round);
    CHECK(desk.check_round(round).checks[1].state == CheckState::left_out);
    sample::check_sound(desk);
}

TEST_CASE("A kit says what it is short of, and shows limits") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    desk.add_item(record::sample::rope());
    desk.add_item(sling("S-1"));
    desk.add_item(sling("S-2"));
    const std::string kit = "climbing kit 2";
    CHECK_FALSE(desk.kit(kit).is_short());
    desk.set_kit_need(kit, record::Kind::sewn_sling, 2);
    desk.set_kit_need(kit, record::Kind::harness, 1);
    desk.set_kit_need("empty kit", record::Kind::harness, 1);
    const auto line = [&](record::Kind kind) {
        for (const KitState::Line& each : desk.kit(kit).lines)
            if (each.kind == kind) return each;
        return KitState::Line{};
    };
    CHECK(line(record::Kind::sewn_sling).missing() == 0);
    CHECK(line(record::Kind::harness).missing() == 1);
    const std::string hold = desk.open_hold("S-1", "fuzz").number;
    CHECK(line(record::Kind::sewn_sling).missing() == 1);
    CHECK(desk.kit(kit).out_of_service[0].mark == "S-1");
    VerdictOrder limited = sample::verdict_order(record::VerdictKind::return_with_limit, "looked at twice");
    limited.limit = "rigging only";
    desk.give_verdict(hold, limited);
    CHECK(line(record::Kind::sewn_sling).missing() == 0);
    CHECK(desk.kit(kit).limited[0].limit == "rigging only");
    std::vector<std::string> names;
    for (const KitState& each : desk.kits(10)) names.push_back(each.name + (each.is_short() ? " short" : ""));
    CHECK(names == Marks{"climbing kit 2 short", "empty kit short"});
    CHECK(desk.kits(1, 1)[0].name == "empty kit");
    desk.set_kit_need("empty kit", record::Kind::harness, 0);
    CHECK(testing::failure_of([&] { static_cast<void>(desk.kit("empty kit")); }).fault == Fault::input);
    CHECK(sample::refused_unchanged(desk, [&] { desk.set_kit_need(kit, record::Kind::harness, -1); }).fault ==
          Fault::input);
    sample::check_sound(desk);
}

TEST_CASE("Lives that end soon or are unknown are listed, unknown first") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const auto add = [&](const std::string& mark, const char* made, record::LifeRule life) {
        record::Item item = sling(mark);
        item.made = made ? std::optional(day(made)) : std::nullopt;
        item.life = life;
        desk.add_item(item);
    };
    add("far", "2024-01-10", {10, std::nullopt});
    add("over", "2015-01-10", {10, std::nullopt});
    add("ending", "2016-07-10", {10, std::nullopt});
    add("unknown", nullptr, {10, std::nullopt});
    add("none", nullptr, {});
    const auto marks = [&](const LifeFilter& filter) {
        std::vector<std::string> list;
        for (const LifeLine& line : desk.ending_lives(filter)) list.push_back(line.item.mark);
        return list;
    };
    CHECK(marks({}) == Marks{"unknown", "over", "ending"});
    LifeFilter later;
    later.by = day("2034-01-10");
    CHECK(marks(later) == Marks{"unknown", "over", "ending", "far"});
    later.limit = 2;
    later.offset = 1;
    CHECK(marks(later) == Marks{"over", "ending"});
    const Figures figures = desk.figures();
    CHECK(figures.life_over == 1);
    CHECK(figures.life_unknown == 1);
    REQUIRE(figures.leaving.size() == 1);
    CHECK(figures.leaving[0].year == 2026);
    CHECK(figures.leaving[0].month == 7);
    CHECK(figures.leaving[0].count == 1);
}

TEST_CASE("Of a life given and the maker's table the shorter counts") {
    const sample::DeskFolder folder;
    Setup setup = folder.setup();
    const std::vector<std::filesystem::path> folders{std::string(FRAYHOLD_SOURCE_DIR) + "/templates/lives"};
    const std::vector<std::string_view> kinds{"accessory_cord"};
    setup.lives = std::make_shared<const criteria::LifeTable>(
        criteria::load_lives(criteria::table_files(folders), kinds));
    Desk desk(setup);
    record::Item rope = record::sample::rope();
    rope.life = {15, 5};
    CHECK(desk.add_item(rope).life == record::LifeRule{12, 5, "invented, for the demo"});
    CHECK(desk.edit_item("K-12", [](record::Item& item) { item.kind = record::Kind::accessory_cord; }).life ==
          record::LifeRule{8, 5, "invented, for the demo"});
}

TEST_CASE("The figures count findings of holds and of checks once each") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string round = round_over_kit(desk);
    all_steps(desk, round, "S-1");
    desk.add_check_finding(round, "S-1", felt("gritty"));
    desk.finish_check(round, "S-1", order_for(CheckResult::keep_and_watch, "wash it"));
    desk.begin_check(round, "K-12");
    desk.add_check_finding(round, "K-12", felt("stiff"));
    const std::string hold = desk.finish_check(round, "K-12", order_for(CheckResult::hold)).hold;
    desk.add_finding(hold, felt("stiff"));
    const Figures figures = desk.figures();
    REQUIRE(figures.findings_by_kind.size() == 2);
    CHECK(figures.findings_by_kind[0].count == 2);
    CHECK(figures.findings_by_kind[1].label == "Gritty to the touch");
    CHECK(figures.findings_by_model[0].label == "Arbolane 11, Brandel & Voss Ropeworks");
    REQUIRE(figures.findings_by_place.size() == 2);
    CHECK(figures.findings_by_place[1].label == "not recorded");
    // Made on 2021-07-14 and on 2024-01-10, found on 2026-02-28.
    REQUIRE(figures.findings_by_age.size() == 2);
    CHECK(figures.findings_by_age[0].label == "2");
    CHECK(figures.findings_by_age[1].label == "4");
    CHECK(figures.findings_by_age[1].count == 2);
}

TEST_CASE("The figures know how long makers take and what came of their answers") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::asked_hold(desk);
    folder.move_clock(std::chrono::hours(24 * 6 + 1));
    desk.add_reply("", sample::bytes_of(sample::message(hold, "our answer")), "reply.eml");
    desk.enter_answer(hold, 1, sample::answer(record::MakersAnswer::not_fit));
    desk.give_verdict(hold, sample::verdict_order(record::VerdictKind::retire_and_destroy));
    const Figures figures = desk.figures();
    CHECK(figures.reply_days == std::vector<int>{6});
    REQUIRE(figures.verdicts.size() == 1);
    CHECK(figures.verdicts[0].answer == record::MakersAnswer::not_fit);
    CHECK(figures.verdicts[0].verdict == record::VerdictKind::retire_and_destroy);
}

}  // namespace frayhold::desk
