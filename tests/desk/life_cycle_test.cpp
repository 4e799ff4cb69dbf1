// SPDX-License-Identifier: Apache-2.0
#include "desk/sample_desk.h"
#include "record/earlier_reading.h"

namespace frayhold::desk {

using record::HoldState;
using record::ItemStatus;

TEST_CASE("One case from a doubtful rope to a recorded verdict") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    desk.add_item(record::sample::rope());
    const record::Hold hold = desk.open_hold("K-12", "  fuzzy near the middle ");
    CHECK(hold.number == "H-2026-0001");
    CHECK(hold.state == HoldState::open);
    CHECK(hold.seen == "fuzzy near the middle");
    CHECK(desk.item("K-12").status == ItemStatus::on_hold);

    folder.move_clock(std::chrono::minutes(10));
    record::Finding felt;
    felt.kind = "stiff";
    felt.station = Millimetres(21'300.0);
    felt.side = "label side";
    const record::Finding finding = desk.add_finding(hold.number, felt);
    CHECK(finding.number == 1);
    CHECK(finding.found_by == record::sample::keeper);
    CHECK(finding.kind_words == "Stiff length, not shiny");
    CHECK(desk.case_file(hold.number).hold.state == HoldState::evidence);

    folder.measuring->readings = {gauge::combine(gauge::Measurand::sound_width, 11.0, {{"card size", 0.05}})};
    sample::add_all_views(desk, hold.number);
    CHECK(desk.case_file(hold.number).hold.state == HoldState::ready);

    const record::Query query = desk.make_query(hold.number, sample::query_order());
    CHECK(desk.case_file(hold.number).hold.state == HoldState::ready);
    CHECK(sample::text_of(desk.kept_bytes(query.sha256))
              .find("To gear@brandelvoss.example by Ida Fenwright at "
                    "2026-02-28T09:40:00Z") == 0);
    folder.move_clock(std::chrono::hours(1));
    CHECK(desk.mark_sent(hold.number, 1).sent == record::sample::at("2026-02-28T10:40:00Z"));
    CHECK(desk.case_file(hold.number).hold.state == HoldState::asked);

    folder.move_clock(std::chrono::hours(48));
    desk.add_reply("", sample::bytes_of(sample::message(hold.number, "Fit for rigging only.")), "reply.eml");
    CHECK(desk.case_file(hold.number).hold.state == HoldState::asked);
    desk.enter_answer(hold.number, 1, sample::answer(record::MakersAnswer::fit_with_limit, "rigging only"));
    CHECK(desk.case_file(hold.number).hold.state == HoldState::answered);

    VerdictOrder order = sample::verdict_order(record::VerdictKind::return_with_limit);
    order.limit = "rigging only, not for climbing";
    const record::Verdict verdict = desk.give_verdict(hold.number, order);
    CHECK_FALSE(verdict.is_override());
    const record::CaseFile file = desk.case_file(hold.number);
    CHECK(file.hold.state == HoldState::verdict);
    CHECK(file.verdict == verdict);
    CHECK(file.item.status == ItemStatus::in_service_with_limit);
    CHECK(file.item.limit == "rigging only, not for climbing");

    CHECK(sample::actions(desk) ==
          std::vector<std::string>{
              "item.add K-12", "hold.open H-2026-0001", "finding.add H-2026-0001", "photo.add H-2026-0001",
              "photo.add H-2026-0001", "photo.add H-2026-0001", "photo.add H-2026-0001",
              "hold.ready H-2026-0001", "query.make H-2026-0001", "query.send H-2026-0001",
              "reply.add H-2026-0001", "answer.enter H-2026-0001", "verdict.give H-2026-0001"});
    CHECK(file.journal.size() == 12);
    for (const record::JournalEntry& entry : file.journal) CHECK(entry.who == record::sample::keeper);
    sample::check_sound(desk);

    // A second doubt on the same item: a new hold, with the first one as its history.
    const record::Hold second = desk.open_hold("K-12", "a soft place");
    CHECK(second.number == "H-2026-0002");
    CHECK(desk.item("K-12").limit.empty());
    const record::CaseFile again = desk.case_file(second.number);
    REQUIRE(again.earlier.size() == 1);
    CHECK(again.earlier[0].verdict == verdict);
    CHECK(again.earlier[0].findings.size() == 1);
    CHECK(again.earlier[0].photos.size() == 4);
    CHECK(again.checks.empty());
    const ItemHistory history = desk.item_history("K-12");
    CHECK(history.holds.size() == 2);
    CHECK(history.journal.size() == 14);

    // Its first close view is read anew and stands beside the earlier reading.
    folder.measuring->readings = {gauge::combine(gauge::Measurand::sound_width, 10.6, {{"card size", 0.05}})};
    sample::add_all_views(desk, second.number, 5);
    const auto beside = record::earlier_readings(desk.case_file(second.number));
    REQUIRE_FALSE(beside.empty());
    CHECK(beside[0].hold == hold.number);
    CHECK(beside[0].change.value == Approx(-0.4));
    sample::check_sound(desk);
}

TEST_CASE("All is there again when the store is opened by another desk") {
    const sample::DeskFolder folder;
    std::string hold;
    {
        Desk desk = folder.open();
        hold = sample::answered_hold(desk, record::MakersAnswer::fit);
    }
    const Desk reader = folder.open("");
    const record::CaseFile file = reader.case_file(hold);
    CHECK(file.hold.state == HoldState::answered);
    CHECK(file.photos.size() == 4);
    CHECK(file.makers_answer()->answer == record::MakersAnswer::fit);
    CHECK(reader.kept_bytes(file.photos[0].sha256) == sample::picture(1));
    sample::check_sound(reader);
}

TEST_CASE("Who is not named may read and not write") {
    const sample::DeskFolder folder;
    const Error none = testing::failure_of([&] { const Desk desk = folder.open(""); });
    CHECK(none.fault == Fault::input);
    CHECK(none.what ==
          (testing::on_server() ? "there is no store in this database" : "there is no store in this folder"));
    CHECK(std::filesystem::is_empty(folder.place.folder.path()));
    {
        Desk keeper = folder.open();
        sample::open_hold(keeper);
    }
    Desk nobody = folder.open(" ");
    const std::string hold = "H-2026-0001";
    const std::vector<std::function<void()>> writes{
        [&] { nobody.add_item(record::sample::rope()); },
        [&] { nobody.edit_item("K-12", [](record::Item&) {}); },
        [&] { nobody.open_hold("K-12", "x"); },
        [&] { nobody.add_finding(hold, {}); },
        [&] { nobody.add_photo(hold, {}); },
        [&] { nobody.waive_view(hold, record::PhotoRole::label, "x"); },
        [&] { nobody.mark_ready(hold); },
        [&] { nobody.make_query(hold, {}); },
        [&] { nobody.mark_sent(hold, 1); },
        [&] { nobody.add_reply(hold, {}, "x"); },
        [&] { nobody.enter_answer(hold, 1, {}); },
        [&] { nobody.give_verdict(hold, {}); },
        [&] { nobody.batch_hold({}); },
    };
    for (const auto& write : writes) CHECK(sample::refused_unchanged(nobody, write).fault == Fault::usage);
    CHECK(nobody.find_items({}).size() == 1);
}

TEST_CASE("Text that is not UTF-8 is refused with its field") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    const std::string wrong = "gr\xfcn";
    CHECK(sample::refused_unchanged(desk, [&] { desk.open_hold("K-12", wrong); }).where == "what was seen");
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.waive_view(hold, record::PhotoRole::label, wrong);
          }).where == "reason");
    CHECK(sample::refused_unchanged(desk, [&] {
              desk.edit_item("K-12", [&](record::Item& item) { item.place = wrong; });
          }).where == "place");
    Desk odd = folder.open(wrong);
    CHECK(sample::refused_unchanged(odd, [&] { odd.open_hold("K-12", "x"); }).where == "your name");
    // A name to look up that is not UTF-8 is told without breaking the words of the error. A server takes no
    // such text.
    if (testing::on_server()) return;
    CHECK(testing::failure_of([&] { static_cast<void>(desk.item(wrong)); }).where == "item gr\xEF\xBF\xBDn");
}

}  // namespace frayhold::desk
