// SPDX-License-Identifier: Apache-2.0
#include "pack/item_record.h"

#include <catch2/catch.hpp>

#include "criteria/advice.h"
#include "outside.h"
#include "sample_case.h"

namespace frayhold::pack {
namespace {

ItemRecordInput input() {
    const record::CaseFile file = test::sample_case();
    ItemRecordInput in;
    in.item = file.item;
    in.item.supplier = "Ashmeer Rope Shop, +00 12";
    in.item.used_by = "Ida Fenwright";
    in.life = record::life_end(in.item, *parse_date("2026-03-02"));
    in.check_due = parse_date("2027-02-28");
    in.holds = {{file.hold, file.findings, file.verdict}};
    in.journal = file.journal;
    in.outfit = "Korrel Tree Crew";
    in.made = *parse_time("2026-03-02T09:30:00Z");
    record::ItemCheck check;
    check.round = "R-2026-0001";
    check.item = in.item.mark;
    check.state = record::CheckState::done;
    check.result = record::CheckResult::keep_and_watch;
    check.words = "wash it";
    check.against = {"Gritty to the touch: from the marked end: 7 m"};
    check.done = parse_time("2026-02-27T09:30:00Z");
    check.done_by = "Tomas Oberlyn";
    check.next_due = parse_date("2027-02-27");
    in.checks = {check};
    check.round = "R-2024-0001";
    check.done = parse_time("2024-02-27T09:30:00Z");
    in.checks.push_back(check);
    return in;
}

// Without the blanks and line ends that a layout puts between words.
std::string run_together(std::string text) {
    std::erase_if(text, [](char c) { return c == ' ' || c == '\n' || c == '\f'; });
    return text;
}

bool holds(const std::string& text, const std::string& words) {
    return text.find(run_together(words)) != std::string::npos;
}

}  // namespace

// EN 365:2004, clause 4.4 (from memory): the headings of an equipment record.
TEST_CASE("The record stands under the headings EN 365 asks for") {
    const std::string text = run_together(test::text_of_pdf(item_record_pdf(input())));
    for (const char* heading :
         {"Kind", "Model",                                    // a) product and trade name
          "Maker", "Supplier",                                // b) maker or supplier with contact
          "Serial number", "Batch",                           // c) identification
          "Made", "Life",                                     // d) year of manufacture or life date
          "Bought",                                           // e) date of purchase
          "Use",                                              // f) frequency of use
          "First used",                                       // g) date of first use
          "User",                                             // h) name of user
          "Checks", "Day", "By", "Signature", "Next due"}) {  // i) history of examinations
        INFO(heading);
        CHECK(holds(text, heading));
    }
    for (const char* words :
         {"Ashmeer Rope Shop, +00 12", "Ida Fenwright", "R-2026-0001", "R-2024-0001",
          "Keep and watch: wash it", "Kept in spite of: Gritty to the touch: from the marked end: 7 m",
          "Tomas Oberlyn", "2027-02-27", "H-2026-0001", "Holds and verdicts"}) {
        INFO(words);
        CHECK(holds(text, words));
    }
    CHECK(holds(text, std::string(criteria::caution)));
}

TEST_CASE("A year's record shows that year only") {
    ItemRecordInput in = input();
    in.year = 2024;
    const std::string text = run_together(test::text_of_pdf(item_record_pdf(in)));
    CHECK(holds(text, "RECORD OF EQUIPMENT, 2024"));
    CHECK(holds(text, "R-2024-0001"));
    CHECK_FALSE(holds(text, "R-2026-0001"));
    CHECK_FALSE(holds(text, "H-2026-0001"));
    in.year = 2023;
    CHECK(holds(run_together(test::text_of_pdf(item_record_pdf(in))), "None is recorded in this year."));
}

TEST_CASE("The same record gives the same bytes, and shows what is out of service") {
    ItemRecordInput in = input();
    CHECK(item_record_pdf(in) == item_record_pdf(in));
    in.item.status = record::ItemStatus::in_service_with_limit;
    in.item.limit = "rigging only";
    in.check_due.reset();
    const std::string text = run_together(test::text_of_pdf(item_record_pdf(in)));
    CHECK(holds(text, "rigging only"));
    CHECK(holds(text, "out of service"));
}

}  // namespace frayhold::pack
