// SPDX-License-Identifier: Apache-2.0
#include "store/store.h"

#include <catch2/catch.hpp>
#include <fstream>
#include <thread>

#include "record/sample_case.h"
#include "store/failure_of.h"
#include "store/items.h"
#include "store/schema.h"
#include "store/store_place.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;
using testing::failure_of;
using testing::StorePlace;
using testing::TempFolder;

const Time now = record::sample::at("2026-03-02T08:00:00Z");

}  // namespace

TEST_CASE("A store is made where there is none, and opened again", "[file]") {
    const TempFolder folder;
    const fs::path path = folder.path() / "the crew's" / "store – grün";
    {
        Store store(path, now);
        insert_item(store.database(), record::sample::rope());
        CHECK(*store.where().folder() == path);
    }
    CHECK(fs::is_regular_file(path / "frayhold.db"));
    CHECK(fs::is_directory(path / "originals"));
    Store again(path, now);
    CHECK(find_item(again.database(), "K-12") == record::sample::rope());
    again.close();
    CHECK(failure_of([&] { static_cast<void>(find_item(again.database(), "K-12")); }).what ==
          "the store is closed");
}

TEST_CASE("An empty folder becomes a store, another one does not", "[file]") {
    const TempFolder folder;
    fs::create_directories(folder.path() / "empty");
    { const Store store(folder.path() / "empty", now); }
    fs::create_directories(folder.path() / "photos");
    std::ofstream(folder.path() / "photos" / "a.jpg") << "x";
    const Error error = failure_of([&] { const Store store(folder.path() / "photos", now); });
    CHECK(error.fault == Fault::input);
    CHECK(error.what == "the folder is no store and holds other files");
    CHECK_FALSE(fs::exists(folder.path() / "photos" / "frayhold.db"));
    CHECK_FALSE(fs::exists(folder.path() / "photos" / "originals"));
}

TEST_CASE("What a making that was cut short left is no hindrance", "[file]") {
    const TempFolder folder;
    fs::create_directories(folder.path() / "originals" / "incoming");
    std::ofstream(folder.path() / "frayhold.db-wal") << "";
    Store store(folder.path(), now);
    CHECK(schema_version(store.database()) == newest_schema());
}

TEST_CASE("Nothing is made where only reading is meant", "[file]") {
    const TempFolder folder;
    Store::Options reading;
    reading.may_create = false;
    const Error error = failure_of([&] { const Store store(folder.path() / "typo", now, reading); });
    CHECK(error.fault == Fault::input);
    CHECK(error.what == "there is no store in this folder");
    CHECK_FALSE(fs::exists(folder.path() / "typo"));
    { const Store made(folder.path() / "store", now); }
    CHECK_NOTHROW(Store(folder.path() / "store", now, reading));
}

// Root may write anywhere, so these use what fails for root too.
TEST_CASE("An unwritable place is told in one line, and nothing is left", "[file]") {
    const TempFolder folder;
    std::ofstream(folder.path() / "file") << "x";
    const std::vector<fs::path> places{folder.path() / "file" / "store", folder.path() / "file",
                                       "/proc/frayhold", "/dev/null/store"};
    for (const fs::path& place : places) {
        INFO(place);
        const Error error = failure_of([&] { const Store store(place, now); });
        CHECK(error.fault == Fault::outside);
        CHECK(error.where.find(place.filename().string()) != std::string::npos);
    }
    CHECK(std::distance(fs::recursive_directory_iterator(folder.path()),
                        fs::recursive_directory_iterator()) == 1);
}

TEST_CASE("Folders made for a store that cannot be made are taken away again", "[file]") {
    const TempFolder folder;
    fs::create_directories(folder.path() / "a" / "store");
    // A folder stands where the database should be.
    fs::create_directories(folder.path() / "a" / "store" / "frayhold.db" / "x");
    CHECK(failure_of([&] { const Store store(folder.path() / "a" / "store", now); }).fault == Fault::outside);
    CHECK_FALSE(fs::exists(folder.path() / "a" / "store" / "originals"));
    CHECK(fs::exists(folder.path() / "a" / "store" / "frayhold.db" / "x"));
}

TEST_CASE("A store of a newer program is refused") {
    const StorePlace place;
    {
        Store store(place.location, now);
        store.database().run("INSERT INTO schema_version (version, applied) VALUES (:version, :applied)",
                             {newest_schema() + 1, now});
    }
    const Error error = failure_of([&] { const Store store(place.location, now); });
    CHECK(error.fault == Fault::input);
    CHECK(error.mend == "use the newer Frayhold that made it");
}

TEST_CASE("A damaged database is told in one line", "[file]") {
    const TempFolder folder;
    { const Store store(folder.path() / "store", now); }
    fs::remove(folder.path() / "store" / "frayhold.db-wal");
    std::ofstream(folder.path() / "store" / "frayhold.db") << std::string(8192, '\x55');
    const Error error = failure_of([&] { const Store store(folder.path() / "store", now); });
    CHECK(error.fault == Fault::outside);
    CHECK(error.mend == "restore the last backup");
}

TEST_CASE("Several openings of a new store at once make one store") {
    const StorePlace place;
    std::vector<std::thread> openers;
    std::vector<std::string> faults(6);
    for (std::size_t i = 0; i < faults.size(); ++i)
        openers.emplace_back([&, i] {
            try {
                Store store(place.location, now);
                record::Item item = record::sample::rope();
                item.mark = "K-" + std::to_string(i);
                insert_item(store.database(), item);
            } catch (const std::exception& error) {
                faults[i] = error.what();
            }
        });
    for (std::thread& opener : openers) opener.join();
    for (const std::string& fault : faults) CHECK(fault.empty());
    Store store(place.location, now);
    CHECK(all_items(store.database()).size() == faults.size());
    CHECK(store.database().count("SELECT COUNT(*) FROM schema_version") == newest_schema());
}

}  // namespace frayhold::store
