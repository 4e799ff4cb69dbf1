// SPDX-License-Identifier: Apache-2.0
#include "desk/sample_desk.h"

namespace frayhold::desk {
namespace {

using record::sample::day;

std::vector<std::string> marks(const std::vector<record::Item>& items) {
    std::vector<std::string> list;
    for (const record::Item& item : items) list.push_back(item.mark);
    return list;
}

using Marks = std::vector<std::string>;

void add(Desk& desk, const std::string& mark, const std::string& batch, const std::optional<Date>& made,
         const std::string& maker = "Brandel & Voss Ropeworks", const std::string& model = "Arbolane 11") {
    record::Item item = record::sample::rope();
    item.mark = mark;
    item.batch = batch;
    item.made = made;
    item.bought.reset();
    item.first_used.reset();
    item.maker = maker;
    item.model = model;
    desk.add_item(item);
}

void fill(Desk& desk) {
    add(desk, "K-1", "2021-07", day("2021-07-14"));
    add(desk, "K-2", "2021-08", day("2021-08-02"));
    add(desk, "K-3", "", day("2021-07-20"));
    add(desk, "K-4", "", std::nullopt);
    add(desk, "K-5", "2021-07", day("2021-07-14"), "brandel  & VOSS ropeworks", "ARBOLANE 11");
    add(desk, "K-6", "2021-07", day("2021-07-14"), "Brandel & Voss Ropeworks", "Arbolane 13");
    add(desk, "K-7", "2021-07", day("2021-07-14"), "Kestrel Loom", "Arbolane 11");
    add(desk, "K-8", "2021-07", day("2021-07-14"));
    desk.open_hold("K-8", "fuzz");
    add(desk, "K-9", "2021-07", day("2021-07-14"));
    desk.give_verdict(desk.open_hold("K-9", "melted").number,
                      sample::verdict_order(record::VerdictKind::retire_and_destroy, "melted through"));
}

BatchNotice notice() {
    BatchNotice out;
    out.maker = "Brandel & Voss Ropeworks";
    out.model = "Arbolane 11";
    out.batch = "2021-07";
    out.words = "Notice 4 of 2026: sheath slippage in batch 2021-07";
    return out;
}

}  // namespace

TEST_CASE("A notice takes in its batch, and whatever may belong to it") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    fill(desk);
    const std::size_t entries = desk.journal({}).size();
    const BatchPlan plan = desk.preview_batch_hold(notice());
    CHECK(marks(plan.to_hold) == Marks{"K-1", "K-3", "K-4", "K-5"});
    CHECK(marks(plan.taken_in_unknown) == Marks{"K-3", "K-4"});
    CHECK(marks(plan.already_held) == Marks{"K-8"});
    CHECK(marks(plan.out_of_service) == Marks{"K-9"});
    CHECK(plan.opened.empty());
    CHECK(desk.journal({}).size() == entries);

    const BatchPlan done = desk.batch_hold(notice());
    CHECK(marks(done.to_hold) == marks(plan.to_hold));
    REQUIRE(done.opened.size() == 4);
    for (const char* mark : {"K-1", "K-3", "K-4", "K-5"})
        CHECK(desk.item(mark).status == record::ItemStatus::on_hold);
    CHECK(desk.item("K-2").status == record::ItemStatus::in_service);
    const record::CaseFile file = desk.case_file(done.opened[0].number);
    CHECK(file.hold.batch_note == notice().words);
    CHECK(file.hold.seen == notice().words);
    CHECK(desk.journal({}).size() == entries + 5);
    CHECK(sample::actions(desk).back() == "batch.hold Brandel & Voss Ropeworks Arbolane 11");
    sample::check_sound(desk);

    // Once more: all are held already.
    CHECK(desk.batch_hold(notice()).opened.empty());
    CHECK(marks(desk.preview_batch_hold(notice()).already_held) == Marks{"K-1", "K-3", "K-4", "K-5", "K-8"});
}

TEST_CASE("A notice may name dates made") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    fill(desk);
    BatchNotice by_date = notice();
    by_date.batch.clear();
    by_date.made_from = day("2021-07-14");
    by_date.made_to = day("2021-07-20");
    CHECK(marks(desk.preview_batch_hold(by_date).to_hold) == Marks{"K-1", "K-3", "K-4", "K-5"});
    CHECK(marks(desk.preview_batch_hold(by_date).taken_in_unknown) == Marks{"K-4"});
    by_date.made_from = day("2021-07-15");
    CHECK(marks(desk.preview_batch_hold(by_date).to_hold) == Marks{"K-3", "K-4"});
    by_date.made_to.reset();
    CHECK(marks(desk.preview_batch_hold(by_date).to_hold) == Marks{"K-2", "K-3", "K-4"});

    SECTION("with a batch the dates decide only where no batch is recorded") {
        by_date.batch = "2021-07";
        by_date.made_from = day("2021-07-21");
        CHECK(marks(desk.preview_batch_hold(by_date).to_hold) == Marks{"K-1", "K-4", "K-5"});
    }
    SECTION("without batch and dates the notice speaks of the whole model") {
        by_date.made_from.reset();
        const BatchPlan plan = desk.preview_batch_hold(by_date);
        CHECK(marks(plan.to_hold) == Marks{"K-1", "K-2", "K-3", "K-4", "K-5"});
        CHECK(plan.taken_in_unknown.empty());
    }
}

TEST_CASE("A notice that cannot be is refused") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    fill(desk);
    BatchNotice wrong = notice();
    wrong.words = " ";
    CHECK(sample::refused_unchanged(desk, [&] { desk.batch_hold(wrong); }).where == "the notice");
    wrong = notice();
    wrong.maker.clear();
    CHECK(sample::refused_unchanged(desk, [&] { desk.batch_hold(wrong); }).where == "maker");
    wrong = notice();
    wrong.model.clear();
    CHECK(sample::refused_unchanged(desk, [&] { static_cast<void>(desk.preview_batch_hold(wrong)); }).where ==
          "model");
    wrong = notice();
    wrong.made_from = day("2021-07-14");
    wrong.made_to = day("2021-07-13");
    CHECK(sample::refused_unchanged(desk, [&] { desk.batch_hold(wrong); }).where == "dates made");
}

}  // namespace frayhold::desk
