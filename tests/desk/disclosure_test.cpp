// SPDX-License-Identifier: Apache-2.0
#include "desk/disclosure.h"

#include "desk/sample_desk.h"

namespace frayhold::desk {
namespace {

std::string all_of(const std::vector<DisclosedLine>& lines) {
    std::string all;
    for (const DisclosedLine& line : lines) all += line.what + ": " + line.detail + "\n";
    return all;
}

bool holds(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("What leaves the house with a case is listed, and what stays") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    record::Item rope = record::sample::rope();
    rope.used_by = "Mara Quill";
    desk.add_item(rope);
    const std::string hold = desk.open_hold("K-12", "fuzzy near the middle").number;
    record::Finding finding;
    finding.kind = "heavy_fray";
    finding.found_by = "Jo Marsh";
    desk.add_finding(hold, finding);
    sample::add_all_views(desk, hold);
    folder.measuring->usable = false;
    desk.add_photo(hold, sample::photo_order(record::PhotoRole::second_view, 9));

    const auto kept = [&](const std::string& sha256) { return desk.kept_bytes(sha256); };
    const Disclosure leaves = what_leaves(desk.case_file(hold), kept, "Ida Fenwright");
    const std::string sent = all_of(leaves.sent);
    const std::string back = all_of(leaves.kept_back);
    INFO(sent << back);
    CHECK(leaves.names == std::vector<std::string>{"Ida Fenwright", "Jo Marsh"});
    CHECK(holds(sent, "The item: mark K-12, maker Brandel & Voss Ropeworks"));
    CHECK(holds(sent, "fuzzy near the middle"));
    CHECK(holds(sent, "Findings: 1 finding by hand or eye"));
    CHECK(holds(sent, "IMG_1.jpg"));
    CHECK(holds(sent, "Names: Ida Fenwright, Jo Marsh"));
    CHECK_FALSE(holds(sent, "Mara Quill"));
    CHECK(holds(back, "who uses it"));
    // The photo that failed its check is not sent.
    CHECK_FALSE(holds(sent, "IMG_9.jpg"));
    CHECK(holds(back, "the whole photo: it did not pass its quality check"));
}

}  // namespace frayhold::desk
