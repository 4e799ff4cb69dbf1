// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <random>

#include "store/killed_child.h"
#include "store/sample_store.h"
#include "store/verify.h"

namespace frayhold::store {
namespace {

const Time now = record::sample::at("2026-03-02T08:00:00Z");

// Adds items, each with a kept file, as fast as it can, and writes a byte to the pipe after each commit.
[[noreturn]] void write_until_killed(const Location& where, int round, int acknowledged) {
    Store store(where, now);
    for (int i = 0;; ++i) {
        const std::string name = "R" + std::to_string(round) + "-" + std::to_string(i);
        Transaction transaction(store.database(), Transaction::Purpose::write);
        record::Item item = sample::sling();
        item.mark = name;
        insert_item(store.database(), item);
        sample::keep(store, std::string(20'000, 'x') + name, now);
        sample::tell(store, "item.add", name);
        transaction.commit();
        const char done = 1;
        if (::write(acknowledged, &done, 1) != 1) ::_exit(1);
    }
}

}  // namespace

TEST_CASE("A process killed at any moment loses nothing that was acknowledged") {
    const testing::StorePlace place;
    std::mt19937 seeded(20260302);
    std::uniform_int_distribution<int> pause_us(100, 15'000);
    std::int64_t acknowledged = 0;
    constexpr int kills = 25;
    for (int round = 0; round < kills; ++round) {
        const std::chrono::microseconds pause(pause_us(seeded));
        acknowledged += testing::kill_child(
            pause, round % 2 == 1, [&](int pipe) { write_until_killed(place.location, round, pipe); });

        const Store store(place.location, now);
        const VerifyReport report = verify(store);
        for (const VerifyFault& fault : report.faults) UNSCOPED_INFO(fault.where + ": " + fault.what);
        CHECK(report.is_sound());
        const std::int64_t items = store.database().count("SELECT COUNT(*) FROM item");
        CHECK(items >= acknowledged);
        // At most one commit a round can be on the disk without its acknowledgement having come through.
        CHECK(items <= acknowledged + round + 1);
        CHECK(report.journal_entries == items);
        CHECK(report.kept_files == items);
        CHECK(std::filesystem::is_empty(place.originals() / "incoming"));
    }
    CHECK(acknowledged >= kills / 2);
}

}  // namespace frayhold::store
