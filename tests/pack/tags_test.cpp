// SPDX-License-Identifier: Apache-2.0
// QR codes as zbar reads them (zbarimg, Debian's zbar-tools) from pages as poppler draws them.
#include "pack/tags.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <sstream>

#include "criteria/advice.h"
#include "outside.h"
#include "pack/qr_code.h"
#include "sample_case.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

record::Item rope(const std::string& mark) {
    record::Item item;
    item.mark = mark;
    item.kind = record::Kind::rope_low_stretch;
    item.maker = "Brandel & Voss Ropeworks";
    item.model = "Arbolane 11";
    item.serial = "BV-88231";
    item.length = Millimetres(45'000.0);
    return item;
}

std::vector<TaggedItem> tagged(const std::vector<std::string>& marks) {
    std::vector<TaggedItem> items;
    for (const std::string& mark : marks) {
        TaggedItem item{rope(mark), {}, parse_date("2027-02-28"), ""};
        item.life = record::life_end(item.item, *parse_date("2026-03-02"));
        items.push_back(item);
    }
    return items;
}

// What every code on the pages says, sorted.
std::vector<std::string> codes_on(const std::vector<std::byte>& pdf, int dots_per_inch = 200) {
    const test::ScratchFolder scratch;
    const auto file = scratch.write("it.pdf", pdf);
    const test::Ran drawn = test::run("pdftoppm -png -gray -r " + std::to_string(dots_per_inch) + " " +
                                      test::quoted(file) + " " + test::quoted(scratch.path() / "page"));
    REQUIRE(drawn.exit_code == 0);
    const test::Ran read =
        test::run("cd " + test::quoted(scratch.path()) +
                  " && zbarimg --nodbus --quiet --raw -Sdisable -Sqrcode.enable page*.png");
    INFO(read.output);
    std::vector<std::string> codes;
    std::istringstream lines(read.output);
    for (std::string line; std::getline(lines, line);) codes.push_back(line);
    std::sort(codes.begin(), codes.end());
    return codes;
}

// The same, each label cut out of the first page for itself, as a camera would see it; in the order of the
// labels.
std::vector<std::string> codes_of_labels(const std::vector<std::byte>& pdf, const LabelSheet& sheet) {
    constexpr int dots_per_inch = 200;
    const test::ScratchFolder scratch;
    const auto file = scratch.write("it.pdf", pdf);
    const test::Ran drawn =
        test::run("pdftoppm -png -gray -r " + std::to_string(dots_per_inch) + " -f 1 -l 1 -singlefile " +
                  test::quoted(file) + " " + test::quoted(scratch.path() / "page"));
    REQUIRE(drawn.exit_code == 0);
    std::ostringstream boxes;
    for (int row = 0; row < sheet.down; ++row)
        for (int column = 0; column < sheet.across; ++column)
            boxes << sheet.left_mm + column * sheet.step_x_mm << ',' << sheet.top_mm + row * sheet.step_y_mm
                  << ' ';
    const test::Ran cut = test::run(
        "cd " + test::quoted(scratch.path()) +
        " && /usr/bin/python3 -c \"import sys; from PIL import Image; p = Image.open('page.png'); k = " +
        std::to_string(dots_per_inch) + " / 25.4; w, h = " + std::to_string(sheet.width_mm) + ", " +
        std::to_string(sheet.height_mm) +
        "; [p.crop([round(k * v) for v in (x, y, x + w, y + h)]).save(f'label{i:03}.png') for i, (x, y) in "
        "enumerate(map(float, b.split(',')) for b in sys.argv[1:])]\" " +
        boxes.str());
    INFO(cut.output);
    REQUIRE(cut.exit_code == 0);
    const test::Ran read =
        test::run("cd " + test::quoted(scratch.path()) +
                  " && zbarimg --nodbus --quiet --raw -Sdisable -Sqrcode.enable label*.png");
    std::vector<std::string> codes;
    std::istringstream lines(read.output);
    for (std::string line; std::getline(lines, line);) codes.push_back(line);
    return codes;
}

std::string paper_of(const std::vector<std::byte>& pdf) {
    const test::ScratchFolder scratch;
    const std::string info = test::run("pdfinfo " + test::quoted(scratch.write("it.pdf", pdf))).output;
    const std::size_t at = info.find("Page size:");
    return info.substr(at, info.find('\n', at) - at);
}

}  // namespace

TEST_CASE("Every label of every sheet can be read back by another's decoder") {
    for (const LabelSheet& sheet : label_sheets()) {
        INFO(sheet.name);
        std::vector<std::string> marks;
        for (int i = 1; i <= sheet.across * sheet.down; ++i) marks.push_back("K-" + std::to_string(100 + i));
        const auto pdf = item_tags_pdf(tagged(marks), sheet, 1);
        std::vector<std::string> expected;
        for (const std::string& mark : marks) expected.push_back("frayhold:item:" + mark);
        CHECK(codes_of_labels(pdf, sheet) == expected);
        CHECK(paper_of(pdf).find(sheet.name.starts_with("a4") ? "(A4)" : "(letter)") != std::string::npos);
        const std::string text = test::text_of_pdf(pdf);
        for (const std::string& mark : marks) CHECK(text.find(mark) != std::string::npos);
        // The grid fits on its paper.
        CHECK(sheet.left_mm + (sheet.across - 1) * sheet.step_x_mm + sheet.width_mm <= sheet.paper.width_mm);
        CHECK(sheet.top_mm + (sheet.down - 1) * sheet.step_y_mm + sheet.height_mm <= sheet.paper.height_mm);
    }
}

TEST_CASE("Marks of any script are read back, and a limit stands on the label") {
    std::vector<TaggedItem> items = tagged({"Seil Nr. 7 – grün", "縄-3"});
    items[0].item.limit = "rigging only";
    items[0].item.status = record::ItemStatus::in_service_with_limit;
    const auto pdf = item_tags_pdf(items, label_sheets()[0], 20);
    CHECK(codes_on(pdf) == std::vector<std::string>{"frayhold:item:Seil Nr. 7 – grün", "frayhold:item:縄-3"});
    CHECK(test::text_of_pdf(pdf).find("LIMIT: rigging only") != std::string::npos);
    CHECK(pdf == item_tags_pdf(items, label_sheets()[0], 20));
}

TEST_CASE("A sheet begun goes on at the label named, and over to the next sheet") {
    const auto items = tagged({"K-1", "K-2", "K-3"});
    const auto pdf = item_tags_pdf(items, label_sheets()[0], 20);
    const test::ScratchFolder scratch;
    CHECK(test::run("pdfinfo " + test::quoted(scratch.write("it.pdf", pdf)))
              .output.find("Pages:           2") != std::string::npos);
    CHECK(codes_on(pdf).size() == 3);
    CHECK_THROWS_AS(item_tags_pdf(items, label_sheets()[0], 22), Failure);
    CHECK_THROWS_AS(item_tags_pdf(items, label_sheets()[0], 0), Failure);
}

TEST_CASE("The hold tag says what it must, on either paper") {
    const record::CaseFile file = test::sample_case();
    for (const Paper& paper : {papers::a4, papers::letter}) {
        const auto pdf = hold_tag_pdf(file, paper);
        CHECK(codes_on(pdf, 100) == std::vector<std::string>{"frayhold:hold:" + file.hold.number});
        const std::string text = test::text_of_pdf(pdf);
        for (const std::string& words :
             {std::string("DO NOT USE"), file.hold.number, file.item.mark, std::string("Sheath fluffed")})
            CHECK(text.find(words) != std::string::npos);
    }
}

TEST_CASE("The shelf list has a code and a mark for each item, over as many pages as it takes") {
    std::vector<std::string> marks;
    for (int i = 1; i <= 40; ++i) marks.push_back("K-" + std::to_string(100 + i));
    std::vector<TaggedItem> items = tagged(marks);
    items[3].item.status = record::ItemStatus::on_hold;
    items[3].hold = "H-2026-0004";
    items[4].check_due = parse_date("0001-01-01");
    const auto pdf =
        shelf_list_pdf("Lower Ashmeer, rack 3", items, papers::a4, *parse_time("2026-03-02T09:30:00Z"));
    CHECK(codes_on(pdf).size() == 40);
    const std::string text = test::text_of_pdf(pdf);
    for (const char* words : {"Lower Ashmeer, rack 3", "40 items", "on hold", "H-2026-0004", "check at once",
                              "check by 2027-02-28", "page 2 of"})
        CHECK(text.find(words) != std::string::npos);
    CHECK(text.find(criteria::caution) != std::string::npos);
}

TEST_CASE("A code of a long text is read back; one that is too long is refused") {
    CHECK(qr_code("frayhold:item:K-12").modules == 25);
    CHECK_THROWS_AS(qr_code(std::string(3000, 'x')), Failure);
    CHECK_THROWS_AS(qr_code(""), Failure);
}

}  // namespace frayhold::pack
