// SPDX-License-Identifier: Apache-2.0
// A large store beside one of 1,000 items: each look-up's time in both and their ratio.
// Usage: bench_store_scale [--in FOLDER] [ITEMS HOLDS PHOTOS ENTRIES]
//   usually 100000 20000 200000 2000000, and in memory unless a folder on a disk is named. Fails where a
//   look-up in the large store takes 20 ms or more, or more than twice its time in the small one (times under
//   1 ms are taken for alike).
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "desk/charts.h"
#include "desk/desk.h"
#include "photo/sha256.h"
#include "record/temp_folder.h"
#include "store/correspondence.h"
#include "store/evidence.h"
#include "store/holds.h"
#include "store/items.h"
#include "store/known_blobs.h"
#include "store/store.h"
#include "store/verdicts.h"

namespace frayhold {
namespace {

struct Size {
    int items = 0;
    int holds = 0;
    int photos = 0;
    int entries = 0;
};

constexpr Size small{1'000, 200, 2'000, 20'000};
constexpr Size large{100'000, 20'000, 200'000, 2'000'000};

const Time start = std::chrono::sys_days(std::chrono::year(2022) / 1 / 1);
const Date today{std::chrono::year(2026), std::chrono::March, std::chrono::day(2)};

std::string mark_of(int i) {
    return fmt::format("K-{:06}", i);
}

record::Item item_of(int i) {
    constexpr std::pair<const char*, const char*> makes[] = {{"Brandel & Voss Ropeworks", "Arbolane 11"},
                                                             {"Brandel & Voss Ropeworks", "Arbolane 13"},
                                                             {"Kestrel Loom", "Broadleaf 25"},
                                                             {"Kestrel Loom", "Broadleaf 30"}};
    constexpr int items_in_kit = 10;
    constexpr int items_at_place = 50;
    record::Item item;
    item.mark = mark_of(i);
    item.kind = record::all_kinds()[static_cast<std::size_t>(i) % record::all_kinds().size()];
    item.maker = makes[i % 4].first;
    item.model = makes[i % 4].second;
    item.serial = fmt::format("S{:07}", i);
    item.batch = fmt::format("2022-{:05}", i / 20);
    item.kit = fmt::format("kit-{:05}", i / items_in_kit);
    item.place = fmt::format("rack-{:05}", i / items_at_place);
    item.made = Date(std::chrono::floor<std::chrono::days>(start) + std::chrono::days(i % 1500));
    item.life = {4 + i % 8, std::nullopt};
    if (i % 200 == 0) item.made.reset();
    return item;
}

class Filling {
  public:
    Filling(const std::filesystem::path& folder, const Size& size) : store_(folder, start), size_(size) {}

    void fill() {
        in_one_go([&] { items(); });
        in_one_go([&] { holds(); });
        in_one_go([&] { photos(); });
        in_one_go([&] { journal(); });
        store_.database().run("ANALYZE");
    }

  private:
    void in_one_go(const std::function<void()>& work) {
        store::Transaction transaction(store_.database(), store::Transaction::Purpose::write);
        work();
        transaction.commit();
    }

    void items() {
        for (int i = 0; i < size_.items; ++i) store::insert_item(store_.database(), item_of(i));
        for (int i = 0; i < size_.items; ++i)
            if (i % 10 != 0)
                store::set_checked(store_.database(), mark_of(i), today, add_months(today, 1 + i % 12));
    }

    // Half of them over; of the others each state in turn, one in ten asked and overdue.
    void holds() {
        store::Database& database = store_.database();
        const std::string message = "a kept message";
        blob_ = store_.blobs().keep(std::as_bytes(std::span(message)));
        store::know_blob(database, blob_, static_cast<std::int64_t>(message.size()), start);
        using record::HoldState;
        for (int i = 0; i < size_.holds; ++i) {
            record::Hold hold;
            hold.item = mark_of(i * (size_.items / size_.holds));
            hold.seen = "fuzzy for a hand's width";
            hold.opened_by = "Ida Fenwright";
            hold.opened = start + std::chrono::hours(i);
            hold = store::insert_hold(database, hold);
            numbers_.push_back(hold.number);
            record::Item item = store::find_item(database, hold.item).value();
            if (i % 2 == 0) {
                verdict(hold.number, i);
                item.status = i % 4 == 0 ? record::ItemStatus::retired : record::ItemStatus::in_service;
            } else {
                item.status = record::ItemStatus::on_hold;
                const int steps = i % 10;
                for (int state = 1; state <= std::min(steps, 3); ++state)
                    store::set_hold_state(database, hold.number, static_cast<HoldState>(state));
                if (steps >= 3) asked(hold, i);
            }
            store::update_item(database, item);
        }
    }

    void asked(const record::Hold& hold, int i) {
        store::Database& database = store_.database();
        record::Query query;
        query.hold = hold.number;
        query.to = "gear@brandelvoss.example";
        query.message_id = hold.number + ".1@korreltrees.example";
        query.sha256 = blob_;
        query.made_by = query.sent_by = "Ida Fenwright";
        query.made = hold.opened;
        query.sent = hold.opened;
        // One in twenty overdue, the others in good time.
        query.reply_due = i % 20 == 3 ? Date(std::chrono::sys_days(today) - std::chrono::days(10))
                                      : Date(std::chrono::sys_days(today) + std::chrono::days(10));
        query = store::insert_query(database, query, 14);
        store::set_query_sent(database, query);
        store::set_reply_due(database, hold.number, query.reply_due);
        if (i % 100 != 5) return;
        record::Reply reply;
        reply.hold = hold.number;
        reply.sha256 = blob_;
        reply.received = hold.opened + std::chrono::hours(100);
        reply.added_by = "Ida Fenwright";
        static_cast<void>(store::insert_reply(database, reply));
    }

    void verdict(const std::string& hold, int i) {
        record::Verdict verdict;
        verdict.kind =
            i % 4 == 0 ? record::VerdictKind::retire_and_destroy : record::VerdictKind::return_to_service;
        verdict.by = "Tomas Oberlyn";
        verdict.given = start + std::chrono::hours(i + 50);
        verdict.witness = "Ida Fenwright";
        store::insert_verdict(store_.database(), hold, verdict);
        store::set_hold_state(store_.database(), hold, record::HoldState::verdict);
    }

    void photos() {
        store::Database& database = store_.database();
        const int each = size_.photos / size_.holds;
        std::vector<std::string> shown;
        for (int i = 0; i < each; ++i) {
            const std::string bytes = "picture " + std::to_string(i);
            shown.push_back(store_.blobs().keep(std::as_bytes(std::span(bytes))));
            store::know_blob(database, shown.back(), static_cast<std::int64_t>(bytes.size()), start);
        }
        for (const std::string& hold : numbers_)
            for (int i = 0; i < each; ++i) {
                record::PhotoEntry photo;
                photo.hold = hold;
                photo.role = record::all_photo_roles()[static_cast<std::size_t>(i) % 5];
                photo.sha256 = shown[static_cast<std::size_t>(i)];
                photo.file_name = fmt::format("IMG_{}.jpg", i);
                photo.usable = true;
                photo.report_json = "{}";
                photo.added_by = "Ida Fenwright";
                photo.added = start;
                static_cast<void>(store::insert_photo(database, photo));
            }
    }

    void journal() {
        store::Database& database = store_.database();
        record::JournalEntry entry;
        entry.hash = record::journal_origin();
        entry.who = "Ida Fenwright";
        entry.details = "{\"place\":{\"was\":\"rack-1\",\"is\":\"rack-2\"}}";
        // Many rows a statement and a part a transaction: otherwise making the store takes longer than using
        // it.
        constexpr int rows = 500;
        std::string marks;
        store::Values values;
        const auto write = [&] {
            if (values.empty()) return;
            database.run(
                "INSERT INTO journal (number, time, who, action, subject, details, previous_hash, hash) "
                "VALUES " +
                    marks,
                values);
            marks.clear();
            values.clear();
        };
        for (int i = 1; i <= size_.entries; ++i) {
            entry.number = i;
            entry.time = start + std::chrono::seconds(i * 60);
            entry.action = i % 10 == 0 ? "hold.open" : "item.edit";
            entry.subject = i % 10 == 0 ? numbers_[static_cast<std::size_t>(i / 10 % size_.holds)]
                                        : mark_of(i % size_.items);
            entry.previous_hash = entry.hash;
            entry.hash = record::hash_of(entry);
            marks += marks.empty() ? "(" : ", (";
            for (int column = 0; column < 8; ++column)
                marks += fmt::format("{}:v{}", column == 0 ? "" : ", ",
                                     values.size() + static_cast<std::size_t>(column));
            marks += ")";
            for (const store::Value& value : std::initializer_list<store::Value>{
                     entry.number, entry.time, entry.who, entry.action, entry.subject, entry.details,
                     entry.previous_hash, entry.hash})
                values.push_back(value);
            if (i % rows == 0) write();
        }
        write();
    }

    store::Store store_;
    Size size_;
    std::string blob_;
    std::vector<std::string> numbers_;
};

struct LookUp {
    std::string name;
    std::function<std::size_t(const desk::Desk&)> run;  // how many lines it gave
    bool whole_store = false;                           // counts through all of it, so that no goal holds
};

desk::ItemFilter items_with(const std::function<void(desk::ItemFilter&)>& set, int page = 50) {
    desk::ItemFilter filter;
    filter.limit = page;
    set(filter);
    return filter;
}

desk::HoldFilter holds_with(const std::function<void(desk::HoldFilter&)>& set) {
    desk::HoldFilter filter;
    filter.limit = 50;
    set(filter);
    return filter;
}

std::vector<LookUp> look_ups() {
    using desk::Desk;
    const auto items = [](const std::string& name, const std::function<void(desk::ItemFilter&)>& set) {
        return LookUp{"items, " + name, [filter = items_with(set)](const Desk& desk) {
                          return desk.find_items(filter).size();
                      }};
    };
    const auto holds = [](const std::string& name, const std::function<void(desk::HoldFilter&)>& set) {
        return LookUp{"holds, " + name, [filter = holds_with(set)](const Desk& desk) {
                          return desk.find_holds(filter).size();
                      }};
    };
    return {
        {"one item", [](const Desk& desk) { return desk.item("K-000777").mark.size(); }},
        {"history of an item", [](const Desk& desk) { return desk.item_history("K-000100").journal.size(); }},
        items("first page", [](auto&) {}),
        items("by a mark's beginning", [](auto& filter) { filter.text = "k-0007"; }),
        items("by two common words", [](auto& filter) { filter.text = "kestrel broadleaf"; }),
        items("by a rare and a common word", [](auto& filter) { filter.text = "kit-00033 kestrel"; }),
        items("by a word no item has", [](auto& filter) { filter.text = "nothing"; }),
        items("of a maker", [](auto& filter) { filter.maker = "Kestrel Loom"; }),
        items("of a batch",
              [](auto& filter) {
                  filter.batch = "2022-00033";
                  filter.maker = "Kestrel Loom";
                  filter.model = "Broadleaf 25";
              }),
        items("of a kit", [](auto& filter) { filter.kit = "kit-00033"; }),
        items("at a place", [](auto& filter) { filter.place = "rack-00007"; }),
        items("on hold", [](auto& filter) { filter.status = record::ItemStatus::on_hold; }),
        items("900 lines on", [](auto& filter) { filter.offset = 900; }),
        holds("the queue", [](auto& filter) { filter.running_only = true; }),
        holds("all", [](auto&) {}),
        holds("asked", [](auto& filter) { filter.state = record::HoldState::asked; }),
        holds("by number", [](auto& filter) { filter.text = "h-2022-0100"; }),
        holds("by common words", [](auto& filter) { filter.text = "brandel"; }),
        holds("by a mark", [](auto& filter) { filter.text = "K-000005"; }),
        {"a case", [](const Desk& desk) { return desk.case_file("H-2022-0100").photos.size(); }},
        {"overdue replies", [](const Desk& desk) { return desk.overdue_replies(50).size(); }},
        {"holds, counted by state", [](const Desk& desk) { return desk.count_holds("").by_state.size(); }},
        {"rounds of checks", [](const Desk& desk) { return desk.check_rounds(false, 50).size(); }},
        {"charts (the whole store)",
         [](const Desk& desk) { return desk::charts_of(desk.figures(), today).size(); }, true},
        {"makers", [](const Desk& desk) { return desk.makers().size(); }},
        {"outbox", [](const Desk& desk) { return desk.outbox(false).size(); }},
        {"checks due",
         [](const Desk& desk) {
             desk::DueFilter filter;
             filter.limit = 50;
             return desk.due_checks(filter).size();
         }},
        {"checks due in a kit",
         [](const Desk& desk) {
             desk::DueFilter filter;
             filter.kit = "kit-00030";
             return desk.due_checks(filter).size();
         }},
        {"lives that end",
         [](const Desk& desk) {
             desk::LifeFilter filter;
             filter.limit = 50;
             return desk.ending_lives(filter).size();
         }},
        {"destroyed items", [](const Desk& desk) { return desk.destroyed_items(50).size(); }},
        {"a kit", [](const Desk& desk) { return desk.kit("kit-00033").lines.size(); }},
        {"first page of kits", [](const Desk& desk) { return desk.kits(20).size(); }},
        {"journal of an item",
         [](const Desk& desk) {
             desk::JournalFilter filter;
             filter.subject = "K-000777";
             return desk.journal(filter).size();
         }},
        {"journal, a page of an action",
         [](const Desk& desk) {
             desk::JournalFilter filter;
             filter.action = "hold.open";
             filter.limit = 100;
             return desk.journal(filter).size();
         }},
        {"journal, a page from 10000 on",
         [](const Desk& desk) {
             desk::JournalFilter filter;
             filter.after = 10'000;
             filter.limit = 100;
             return desk.journal(filter).size();
         }},
    };
}

struct Timed {
    double ms = 0.0;
    std::size_t lines = 0;
};

// The median of several runs, after one to warm up.
Timed timed(const desk::Desk& desk, const LookUp& look_up) {
    constexpr int runs = 15;
    Timed result;
    result.lines = look_up.run(desk);
    std::vector<double> times;
    for (int i = 0; i < runs; ++i) {
        const auto begun = std::chrono::steady_clock::now();
        static_cast<void>(look_up.run(desk));
        times.push_back(
            std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begun).count());
    }
    std::nth_element(times.begin(), times.begin() + runs / 2, times.end());
    result.ms = times[runs / 2];
    return result;
}

desk::Desk desk_on(const std::filesystem::path& folder) {
    desk::Setup setup;
    setup.store = folder;
    setup.clock = [] { return Time(std::chrono::sys_days(today) + std::chrono::hours(10)); };
    return desk::Desk(std::move(setup));
}

void make(const std::filesystem::path& folder, const Size& size) {
    const auto begun = std::chrono::steady_clock::now();
    Filling(folder, size).fill();
    fmt::print("{} items, {} holds, {} photos, {} journal entries made in {:.0f} s\n", size.items, size.holds,
               size.photos, size.entries,
               std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count());
    std::fflush(stdout);
}

int compare(const std::filesystem::path& folder, const Size& size) {
    make(folder / "small", small);
    make(folder / "large", size);
    const desk::Desk few = desk_on(folder / "small");
    const desk::Desk many = desk_on(folder / "large");
    constexpr double most_ms = 20.0;
    constexpr double most_ratio = 2.0;
    constexpr double alike_ms = 1.0;
    int missed = 0;
    fmt::print("{:<32} {:>9} {:>9} {:>7} {:>6}\n", "look-up", "1,000 ms", "large ms", "ratio", "lines");
    for (const LookUp& look_up : look_ups()) {
        const Timed with_few = timed(few, look_up);
        const Timed with_many = timed(many, look_up);
        const double ratio = with_many.ms / with_few.ms;
        const bool fails = !look_up.whole_store &&
                           (with_many.ms >= most_ms || (ratio > most_ratio && with_many.ms >= alike_ms));
        missed += fails ? 1 : 0;
        fmt::print("{:<32} {:>9.2f} {:>9.2f} {:>7.2f} {:>6}{}\n", look_up.name, with_few.ms, with_many.ms,
                   ratio, with_many.lines, fails ? "  MISSED" : "");
        std::fflush(stdout);
    }
    fmt::print("{} look-ups miss the goal of under 20 ms and a ratio of at most 2\n", missed);
    return missed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

}  // namespace
}  // namespace frayhold

int main(int argc, char** argv) {
    std::vector<std::string> words(argv + 1, argv + argc);
    const frayhold::testing::TempFolder memory;
    std::filesystem::path folder = memory.path();
    if (words.size() >= 2 && words[0] == "--in") {
        folder = words[1];
        words.erase(words.begin(), words.begin() + 2);
    }
    if (!words.empty() && words.size() != 4) {
        std::fputs("Usage: bench_store_scale [--in FOLDER] [ITEMS HOLDS PHOTOS ENTRIES]\n", stderr);
        return 2;
    }
    frayhold::Size size = frayhold::large;
    if (words.size() == 4)
        size = {std::stoi(words[0]), std::stoi(words[1]), std::stoi(words[2]), std::stoi(words[3])};
    return frayhold::compare(folder, size);
}
