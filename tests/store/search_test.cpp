// SPDX-License-Identifier: Apache-2.0
#include "store/search.h"

#include <catch2/catch.hpp>

#include "store/sample_store.h"

namespace frayhold::store {
namespace {

std::vector<std::string> marks(const std::vector<record::Item>& items) {
    std::vector<std::string> list;
    for (const record::Item& item : items) list.push_back(item.mark);
    return list;
}

using Marks = std::vector<std::string>;

std::vector<std::string> found(const Database& database, const std::string& text) {
    return marks(search_items(database, {.text = text}));
}

}  // namespace

TEST_CASE("Items are found by the beginnings of their words") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    CHECK(found(database, "") == Marks{"K-12", "K-12a", "K-12b", "K-13"});
    CHECK(found(database, "k-13") == Marks{"K-13"});
    CHECK(found(database, "K-12") == Marks{"K-12", "K-12a", "K-12b"});
    CHECK(found(database, "BRANDEL arbo") == Marks{"K-12", "K-12a", "K-12b"});
    CHECK(found(database, "ashmeer kestrel").empty());
    CHECK(found(database, "kestrel BROAD 25") == Marks{"K-13"});
    CHECK(found(database, "2021-07") == Marks{"K-12", "K-12a", "K-12b"});
    CHECK(found(database, "bv-882") == Marks{"K-12", "K-12a", "K-12b"});
    CHECK(found(database, "randel").empty());
    // Signs that mean something to the database mean nothing here.
    for (const char* odd : {"%", "_-12", "'", "\"", "K-12' OR '1'='1", "*", ":x"})
        CHECK(found(database, odd).empty());
}

TEST_CASE("The search follows a change") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    record::Item item = find_item(database, "K-13").value();
    item.place = "Grüne Kiste";
    item.model = "Broadleaf 30";
    update_item(database, item);
    CHECK(found(database, "grüne") == Marks{"K-13"});
    CHECK(found(database, "GRÜNE KIS") == Marks{"K-13"});
    CHECK(found(database, "25").empty());
}

TEST_CASE("Fields narrow the search, exactly as recorded") {
    const sample::FilledStore filled;
    const Database& database = filled.store->database();
    CHECK(marks(search_items(database, {.maker = "Kestrel Loom"})) == Marks{"K-13"});
    CHECK(search_items(database, {.maker = "Kestrel"}).empty());
    CHECK(marks(search_items(database, {.batch = "2021-07", .status = record::ItemStatus::retired})) ==
          Marks{"K-12"});
    CHECK(marks(search_items(database, {.text = "arbolane", .kit = "climbing kit 2", .limit = 2})) ==
          Marks{"K-12", "K-12a"});
    CHECK(marks(search_items(
              database, {.text = "arbolane", .place = "Lower Ashmeer, rack 3", .limit = 2, .offset = 2})) ==
          Marks{"K-12b"});
}

TEST_CASE("The queue: replies to read, then overdue, then the longest open") {
    const sample::FilledStore filled;
    Database& database = filled.store->database();
    const Time now = record::sample::at("2026-03-01T08:00:00Z");
    const auto hold = [&](const std::string& mark, const char* opened, bool asked) {
        record::Item item = sample::sling();
        item.mark = mark;
        insert_item(database, item);
        record::Hold made;
        made.item = mark;
        made.seen = "fuzz";
        made.opened_by = record::sample::keeper;
        made.opened = record::sample::at(opened);
        const std::string number = insert_hold(database, made).number;
        if (asked)
            for (const auto state :
                 {record::HoldState::evidence, record::HoldState::ready, record::HoldState::asked})
                set_hold_state(database, number, state);
        return number;
    };
    const std::string old = hold("S-1", "2026-01-01T08:00:00Z", false);
    const std::string young = hold("S-2", "2026-02-20T08:00:00Z", false);
    const std::string overdue = hold("S-3", "2026-02-10T08:00:00Z", true);
    const std::string in_time = hold("S-4", "2026-02-11T08:00:00Z", true);
    const std::string replied = hold("S-5", "2026-02-12T08:00:00Z", true);
    set_reply_due(database, overdue, record::sample::day("2026-02-28"));
    set_reply_due(database, in_time, record::sample::day("2026-03-01"));
    record::Reply reply;
    reply.hold = replied;
    reply.sha256 = sample::keep(*filled.store, "a reply", now);
    reply.received = now;
    reply.added_by = record::sample::keeper;
    reply = insert_reply(database, reply);
    record::Reply absence = reply;
    absence.hold = in_time;
    absence.automatic = true;
    static_cast<void>(insert_reply(database, absence));

    HoldSearch running;
    running.running_only = true;
    running.today = record::sample::day("2026-03-01");
    const auto numbers = [&](const HoldSearch& search) {
        std::vector<std::string> list;
        for (const QueuedHold& queued : search_holds(database, search)) list.push_back(queued.hold.number);
        return list;
    };
    CHECK(numbers(running) == Marks{replied, overdue, old, in_time, young});
    CHECK(search_holds(database, running)[0].reply_to_read);
    CHECK_FALSE(search_holds(database, running)[3].reply_to_read);
    CHECK(search_holds(database, running)[1].maker == "Kestrel Loom");

    running.limit = 2;
    running.offset = 1;
    CHECK(numbers(running) == Marks{overdue, old});

    HoldSearch all;
    all.today = running.today;
    CHECK(numbers(all).size() == 6);
    all.state = record::HoldState::asked;
    CHECK(numbers(all) == Marks{replied, overdue, in_time});
    all.state.reset();
    all.text = "s-3";
    CHECK(numbers(all) == Marks{overdue});
    all.text = " h-2026-0001 ";
    CHECK(numbers(all) == Marks{"H-2026-0001"});
    all.text = "kestrel broadleaf";
    CHECK(numbers(all).size() == 5);

    // Once the answer is entered the reply waits no longer.
    insert_answer(database, replied, reply.number,
                  record::sample::answered_case(record::MakersAnswer::fit).replies[0].answer.value());
    running.limit = 0;
    CHECK(numbers(running) == Marks{overdue, old, in_time, replied, young});

    CHECK(queries_due(database, record::sample::day("2026-03-31")).empty());
}

}  // namespace frayhold::store
