// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <cmath>

#include "store/case_file.h"
#include "store/failure_of.h"
#include "store/sample_store.h"

namespace frayhold::store {
namespace {

using testing::failure_of;

const Time now = record::sample::at("2026-03-02T08:00:00Z");

record::Hold hold_on(const std::string& mark, const char* opened) {
    record::Hold hold;
    hold.item = mark;
    hold.seen = "fuzz";
    hold.opened_by = record::sample::keeper;
    hold.opened = record::sample::at(opened);
    return hold;
}

void check_same(const gauge::Reading& a, const gauge::Reading& b) {
    CHECK(a.measurand == b.measurand);
    CHECK(a.value == b.value);
    CHECK(a.u == b.u);
    CHECK(a.k == b.k);
    CHECK(a.U == b.U);
    CHECK(((std::isinf(a.dof) && std::isinf(b.dof)) || a.dof == b.dof));
    CHECK(a.outline_px == b.outline_px);
    REQUIRE(a.budget.size() == b.budget.size());
    for (std::size_t i = 0; i < a.budget.size(); ++i) {
        CHECK(a.budget[i].source == b.budget[i].source);
        CHECK(a.budget[i].u == b.budget[i].u);
        CHECK(((std::isinf(a.budget[i].dof) && std::isinf(b.budget[i].dof)) ||
               a.budget[i].dof == b.budget[i].dof));
    }
}

}  // namespace

TEST_CASE("A whole case comes back as it went in, also after the store was closed") {
    sample::FilledStore filled;
    filled.store.reset();
    const Store store(filled.place.location, now);
    const record::CaseFile found = case_file(store.database(), filled.expected.hold.number).value();
    const record::CaseFile& expected = filled.expected;
    CHECK(found.item == expected.item);
    CHECK(found.hold == expected.hold);
    CHECK(found.findings == expected.findings);
    CHECK(found.waived == expected.waived);
    CHECK(found.queries == expected.queries);
    CHECK(found.replies == expected.replies);
    CHECK(found.verdict == expected.verdict);
    CHECK(found.journal == expected.journal);
    REQUIRE(found.photos.size() == 1);
    const record::PhotoEntry& photo = found.photos.front();
    const record::PhotoEntry& put_in = expected.photos.front();
    CHECK(photo.number == 1);
    CHECK(photo.role == put_in.role);
    CHECK(photo.sha256 == put_in.sha256);
    CHECK(photo.file_name == put_in.file_name);
    CHECK(photo.size_bytes == put_in.size_bytes);
    CHECK(photo.taken == put_in.taken);
    CHECK(photo.usable == put_in.usable);
    CHECK(photo.reasons == put_in.reasons);
    CHECK(photo.card_found == put_in.card_found);
    CHECK(photo.report_json == put_in.report_json);
    CHECK(photo.advice == put_in.advice);
    CHECK(photo.markup_sha256 == put_in.markup_sha256);
    CHECK(photo.added_by == put_in.added_by);
    CHECK(photo.added == put_in.added);
    REQUIRE(photo.readings.size() == 2);
    for (std::size_t i = 0; i < 2; ++i) check_same(photo.readings[i], put_in.readings[i]);
}

TEST_CASE("A check comes back as it went in") {
    const sample::FilledStore filled;
    const Database& database = filled.store->database();
    CHECK(find_check(database, "R-2026-0001", "K-13") == filled.check);
    CHECK(checks_of_item(database, "K-13", 0) == std::vector<record::ItemCheck>{filled.check});
    CHECK(find_round(database, "R-2026-0001") == filled.round);
    CHECK(rounds(database, true, 0).size() == 1);
    CHECK_FALSE(running_round_of(database, "K-13").has_value());
    CHECK(checked_on(database, "K-13") == record::sample::day("2026-02-27"));
    CHECK_FALSE(find_check(database, "R-2026-0001", "K-12").has_value());
}

TEST_CASE("What is not there is not there") {
    const sample::FilledStore filled;
    const Database& database = filled.store->database();
    CHECK_FALSE(find_item(database, "K-99").has_value());
    CHECK_FALSE(find_item(database, "k-12").has_value());
    CHECK_FALSE(case_file(database, "H-2026-0099").has_value());
    CHECK_FALSE(find_hold(database, "").has_value());
    CHECK_FALSE(running_hold(database, "K-12").has_value());
    CHECK_FALSE(verdict_of(database, "H-2026-0099").has_value());
    CHECK_FALSE(query_with_id(database, "nobody@nowhere.example").has_value());
    CHECK(query_with_id(database, "H-2026-0001.1@korrel.example")->hold == "H-2026-0001");
    CHECK(findings_of(database, "H-2026-0099").empty());
    CHECK(reply_days_of(database, "H-2026-0001", 1) == 14);
}

TEST_CASE("Parts know their parent, and a new hold its earlier ones") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    const std::vector<record::Item> parts = parts_of(database, "K-12");
    REQUIRE(parts.size() == 2);
    CHECK(parts[0].mark == "K-12a");
    CHECK(parts[1].parent == "K-12");
    const record::Hold second = insert_hold(database, hold_on("K-12", "2026-03-02T08:00:00Z"));
    const record::CaseFile file = case_file(database, second.number).value();
    REQUIRE(file.earlier.size() == 1);
    CHECK(file.earlier[0].hold.number == "H-2026-0001");
    CHECK(file.earlier[0].findings == filled.expected.findings);
    CHECK(file.earlier[0].verdict == filled.expected.verdict);
    CHECK(case_file(database, "H-2026-0001")->earlier.empty());
}

TEST_CASE("Hold numbers count up within their year") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    CHECK(insert_hold(database, hold_on("K-12", "2026-12-31T23:59:59Z")).number == "H-2026-0002");
    CHECK(insert_hold(database, hold_on("K-13", "2027-01-01T00:00:00Z")).number == "H-2027-0001");
    database.run(
        "INSERT INTO hold (number, year, turn, item, state, seen, opened_by, opened, batch_note) VALUES "
        "('H-2027-9999', 2027, 9999, 'K-12a', 'open', 'x', 'x', '2027-01-02T00:00:00Z', '')");
    CHECK(insert_hold(database, hold_on("K-12b", "2027-06-01T00:00:00Z")).number == "H-2027-10000");
}

TEST_CASE("Writing the state of a hold clears the day its reply is due") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    const std::string number = insert_hold(database, hold_on("K-13", "2026-03-02T08:00:00Z")).number;
    for (const record::HoldState state :
         {record::HoldState::evidence, record::HoldState::ready, record::HoldState::asked})
        set_hold_state(database, number, state);
    set_reply_due(database, number, record::sample::day("2026-03-20"));
    CHECK(search_holds(database, {.text = number}).front().reply_due == record::sample::day("2026-03-20"));
    set_hold_state(database, number, record::HoldState::answered);
    CHECK_FALSE(search_holds(database, {.text = number}).front().reply_due.has_value());
    CHECK(failure_of([&] { set_reply_due(database, number, record::sample::day("2026-03-20")); }).fault ==
          Fault::outside);
}

TEST_CASE("A name the program does not know is told") {
    const sample::FilledStore filled;
    filled.store->database().run("UPDATE item SET kind = 'flying_carpet' WHERE mark = 'K-13'");
    CHECK(failure_of([&] { static_cast<void>(find_item(filled.store->database(), "K-13")); }).what ==
          "a row holds the unknown name 'flying_carpet'");
}

}  // namespace frayhold::store
