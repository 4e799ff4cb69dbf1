// SPDX-License-Identifier: Apache-2.0
#include <cstdlib>
#include <functional>
#include <random>

#include "desk/sample_desk.h"
#include "store/faults/faulty_files.h"
#include "store/faults/faulty_vfs.h"

// Every call that reaches the disk fails once, in turn: SQLite's through a file layer of the test's own,
// those of kept files through the store's own seam. Usually a row of single actions; FRAYHOLD_FAULTS=all lets
// every call of every action fail in every way.
namespace frayhold::desk {
namespace {

namespace fs = std::filesystem;
using testing::DiskFault;

bool in_the_long_run() {
    const char* wanted = std::getenv("FRAYHOLD_FAULTS");
    return wanted != nullptr && std::string(wanted) == "all";
}

std::string name_of(DiskFault fault) {
    switch (fault) {
        case DiskFault::io_error:
            return "an IO error";
        case DiskFault::failing:
            return "a disk that fails for good";
        case DiskFault::full:
            return "a full disk";
        case DiskFault::read_only:
            return "a disk that became read-only";
        case DiskFault::short_write:
            return "a short write";
        case DiskFault::power_loss:
            return "power loss";
    }
    return "";
}

// An action, and what tells that it was done.
struct Step {
    std::string name;
    std::function<void(Desk&)> act;
    std::function<bool(const Desk&)> is_done;
};

bool has_action(const Desk& desk, const std::string& action) {
    JournalFilter filter;
    filter.action = action;
    return !desk.journal(filter).empty();
}

Step step(const std::string& action, const std::function<void(Desk&)>& act) {
    return {action, act, [action](const Desk& desk) { return has_action(desk, action); }};
}

std::vector<Step> one_photo() {
    return {step("photo.add", [](Desk& desk) {
        desk.add_photo("H-2026-0001", sample::photo_order(record::PhotoRole::label, 7));
    })};
}

std::vector<Step> whole_case() {
    return {
        step("finding.add",
             [](Desk& desk) {
                 record::Finding finding;
                 finding.kind = "heavy_fray";
                 desk.add_finding("H-2026-0001", finding);
             }),
        step("hold.ready",
             [](Desk& desk) {
                 sample::add_all_views(desk, "H-2026-0001");
                 desk.waive_view("H-2026-0001", record::PhotoRole::second_view, "seen whole");
             }),
        step("query.make", [](Desk& desk) { desk.make_query("H-2026-0001", sample::query_order()); }),
        step("query.send", [](Desk& desk) { desk.mark_sent("H-2026-0001", 1); }),
        step("reply.add",
             [](Desk& desk) {
                 desk.add_reply("", sample::bytes_of(sample::message("H-2026-0001", "our answer")), "r.eml");
             }),
        step("answer.enter",
             [](Desk& desk) {
                 desk.enter_answer("H-2026-0001", 1, sample::answer(record::MakersAnswer::not_fit));
             }),
        step("verdict.give",
             [](Desk& desk) {
                 desk.give_verdict("H-2026-0001",
                                   sample::verdict_order(record::VerdictKind::retire_and_destroy));
             }),
        {"import", [](Desk& desk) { desk.import_items("mark,kind\nA-1,harness\nA-2,lanyard\n", {}); },
         [](const Desk& desk) {
             ItemFilter filter;
             filter.text = "A-2";
             return desk.find_items(filter).size() == 1;
         }},
        step("round.start", [](Desk& desk) { desk.start_round({}); }),
        step("person.forget", [](Desk& desk) { desk.forget_person(record::sample::competent_person); }),
    };
}

// One store that each trial starts from anew.
class Trials {
  public:
    explicit Trials(bool new_store) : new_store_(new_store) {
        if (!new_store) {
            Desk desk = folder_.open();
            sample::open_hold(desk);
        }
        if (!new_store) fs::copy(*folder_.place.location.folder(), template_(), fs::copy_options::recursive);
    }

    // Lets the n-th call of the disk fail, for n = 1, 2, 3, … as long as there is one. Gives their number.
    int run(DiskFault fault, const std::vector<Step>& steps, int stride) {
        int n = 1;
        while (one(fault, steps, n)) n += stride;
        return n;
    }

  private:
    [[nodiscard]] fs::path template_() const { return folder_.place.folder.path() / "template"; }

    void start_anew() const {
        fs::remove_all(*folder_.place.location.folder());
        if (!new_store_) fs::copy(template_(), *folder_.place.location.folder(), fs::copy_options::recursive);
    }

    // False where the fault never came.
    bool one(DiskFault fault, const std::vector<Step>& steps, int n) {
        INFO(name_of(fault) << " at call " << n);
        start_anew();
        testing::FaultyVfs database;
        const auto files = std::make_shared<testing::FaultyFiles>();
        // Both count; the one that is reached first has its fault.
        const bool of_files = n % 2 == 0;
        if (of_files)
            files->fail_at(fault, (n + 1) / 2);
        else
            database.fail_at(fault, (n + 1) / 2);
        const std::size_t acknowledged = act(steps, files);
        const bool in_database = database.calm();
        const bool in_files = files->calm();
        if (fault == DiskFault::power_loss) {
            const bool keep_some = chance_() % 2 == 0;
            database.lose_unflushed(chance_, keep_some);
            files->lose_unflushed(chance_, keep_some);
        }
        look_after(steps, acknowledged);
        (of_files ? files_over_ : database_over_) = !(in_database || in_files);
        if (files_over_ && database_over_) {
            files_over_ = database_over_ = false;
            return false;
        }
        return true;
    }

    // The steps that were acknowledged. What fails says so in one sentence.
    std::size_t act(const std::vector<Step>& steps, const std::shared_ptr<testing::FaultyFiles>& files) {
        std::size_t done = 0;
        try {
            Setup setup = folder_.setup();
            setup.files = files;
            Desk desk(setup);
            for (const Step& next : steps) {
                next.act(desk);
                ++done;
            }
        } catch (const Failure& failure) {
            CHECK(failure.error().fault == Fault::outside);
            CHECK_FALSE(failure.error().what.empty());
            CHECK_FALSE(failure.error().mend.empty());
        }
        return done;
    }

    void look_after(const std::vector<Step>& steps, std::size_t acknowledged) {
        // Opening writes where the store is new, and sweeps in any case.
        const Desk desk = folder_.open();
        const VerifyReport report = desk.verify();
        for (const VerifyFault& fault : report.faults) UNSCOPED_INFO(fault.where + ": " + fault.what);
        CHECK(report.is_sound());
        for (std::size_t i = 0; i < acknowledged; ++i) {
            INFO(steps[i].name);
            CHECK(steps[i].is_done(desk));
        }
        const fs::path incoming = *folder_.place.location.folder() / "originals" / "incoming";
        CHECK(fs::is_empty(incoming));
    }

    sample::DeskFolder folder_;
    bool new_store_;
    bool files_over_ = false;
    bool database_over_ = false;
    std::mt19937 chance_{20260304};
};

constexpr DiskFault all_faults[]{DiskFault::io_error,  DiskFault::failing,     DiskFault::full,
                                 DiskFault::read_only, DiskFault::short_write, DiskFault::power_loss};

}  // namespace

TEST_CASE("Whatever call of the disk fails while a photo is added, nothing acknowledged is lost") {
    Trials trials(false);
    for (const DiskFault fault : all_faults) {
        const int calls = trials.run(fault, one_photo(), in_the_long_run() ? 1 : 3);
        INFO(name_of(fault));
        CHECK(calls > 10);
    }
}

TEST_CASE("Whatever call of the disk fails while a store is made, it can be made afterwards") {
    Trials trials(true);
    const std::vector<Step> steps{
        step("item.add", [](Desk& desk) { desk.add_item(record::sample::rope()); })};
    for (const DiskFault fault : all_faults) {
        const int calls = trials.run(fault, steps, in_the_long_run() ? 1 : 101);
        INFO(name_of(fault));
        CHECK(calls > 10);
    }
}

TEST_CASE("Whatever call of the disk fails in any action of a case, nothing acknowledged is lost") {
    Trials trials(false);
    for (const DiskFault fault : all_faults) {
        const int calls = trials.run(fault, whole_case(), in_the_long_run() ? 1 : 401);
        INFO(name_of(fault));
        CHECK(calls > 100);
    }
}

}  // namespace frayhold::desk
