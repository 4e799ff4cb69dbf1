// SPDX-License-Identifier: Apache-2.0
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>

#include "desk/sample_desk.h"

namespace frayhold::desk {
namespace {

constexpr int done = 0;
constexpr int unexpected = 99;

// Runs the action in two processes that start at the same moment, each with a desk of its own. Gives what
// each came to, sorted: 0, or the fault it met.
template <class Action>
std::array<int, 2> run_twice_at_once(const sample::DeskFolder& folder, const Action& action) {
    std::array<int, 2> start{};
    REQUIRE(::pipe(start.data()) == 0);
    std::array<pid_t, 2> children{};
    for (std::size_t turn = 0; turn < children.size(); ++turn) {
        children[turn] = ::fork();
        if (children[turn] != 0) continue;
        ::close(start[1]);
        int outcome = unexpected;
        try {
            Desk desk = folder.open("Person " + std::to_string(turn));
            char go = 0;
            while (::read(start[0], &go, 1) > 0) continue;
            action(desk, turn);
            outcome = done;
        } catch (const Failure& failure) {
            outcome = static_cast<int>(failure.error().fault);
        }
        ::_exit(outcome);
    }
    ::close(start[0]);
    ::close(start[1]);
    std::array<int, 2> outcomes{};
    for (std::size_t turn = 0; turn < children.size(); ++turn) {
        int status = 0;
        REQUIRE(::waitpid(children[turn], &status, 0) == children[turn]);
        REQUIRE(WIFEXITED(status));
        outcomes[turn] = WEXITSTATUS(status);
    }
    std::sort(outcomes.begin(), outcomes.end());
    return outcomes;
}

constexpr std::array<int, 2> one_refused{done, static_cast<int>(Fault::refused)};

}  // namespace

TEST_CASE("Two processes deciding the same hold come to one verdict and one refusal") {
    for (int round = 0; round < 8; ++round) {
        const sample::DeskFolder folder;
        std::string hold;
        {
            Desk desk = folder.open();
            hold = sample::answered_hold(desk, record::MakersAnswer::fit);
        }
        const auto outcomes = run_twice_at_once(folder, [&](Desk& desk, std::size_t turn) {
            const auto kind =
                turn == 0 ? record::VerdictKind::return_to_service : record::VerdictKind::retire_and_destroy;
            desk.give_verdict(hold, sample::verdict_order(kind));
        });
        CHECK(outcomes == one_refused);
        Desk desk = folder.open();
        const record::CaseFile file = desk.case_file(hold);
        REQUIRE(file.verdict.has_value());
        CHECK(file.item.status == record::status_after(file.verdict->kind));
        JournalFilter verdicts;
        verdicts.action = "verdict.give";
        CHECK(desk.journal(verdicts).size() == 1);
        sample::check_sound(desk);
    }
}

TEST_CASE("Two processes holding the same item open one hold") {
    const sample::DeskFolder folder;
    {
        Desk desk = folder.open();
        desk.add_item(record::sample::rope());
    }
    CHECK(run_twice_at_once(folder, [](Desk& desk, std::size_t) { desk.open_hold("K-12", "fuzz"); }) ==
          one_refused);
    Desk desk = folder.open();
    CHECK(desk.find_holds({}).size() == 1);
    sample::check_sound(desk);
}

TEST_CASE("Two processes adding the same photo keep it once") {
    const sample::DeskFolder folder;
    std::string hold;
    {
        Desk desk = folder.open();
        hold = sample::open_hold(desk);
    }
    CHECK(run_twice_at_once(folder, [&](Desk& desk, std::size_t) {
              desk.add_photo(hold, sample::photo_order(record::PhotoRole::label, 1));
          }) == one_refused);
    Desk desk = folder.open();
    CHECK(desk.case_file(hold).photos.size() == 1);
    sample::check_sound(desk);
}

TEST_CASE("Two processes adding to one hold lose nothing of each other") {
    const sample::DeskFolder folder;
    std::string hold;
    {
        Desk desk = folder.open();
        hold = sample::open_hold(desk);
    }
    const auto outcomes = run_twice_at_once(folder, [&](Desk& desk, std::size_t turn) {
        record::Finding felt;
        felt.kind = "stiff";
        for (int i = 0; i < 10; ++i) {
            felt.station = Millimetres(1000.0 * i + static_cast<double>(turn));
            desk.add_finding(hold, felt);
        }
    });
    CHECK(outcomes == std::array<int, 2>{done, done});
    Desk desk = folder.open();
    const record::CaseFile file = desk.case_file(hold);
    REQUIRE(file.findings.size() == 20);
    for (std::size_t i = 0; i < file.findings.size(); ++i)
        CHECK(file.findings[i].number == static_cast<int>(i) + 1);
    sample::check_sound(desk);
}

TEST_CASE("Two processes sending the same query send it once") {
    const sample::DeskFolder folder;
    std::string hold;
    {
        Desk desk = folder.open();
        hold = sample::open_hold(desk);
        sample::add_all_views(desk, hold);
        desk.make_query(hold, sample::query_order());
    }
    CHECK(run_twice_at_once(folder, [&](Desk& desk, std::size_t) { desk.mark_sent(hold, 1); }) ==
          one_refused);
}

}  // namespace frayhold::desk
