// SPDX-License-Identifier: Apache-2.0
// SVG as Python's XML parser reads it.
#include "pack/chart.h"

#include <catch2/catch.hpp>
#include <span>

#include "outside.h"

namespace frayhold::pack {
namespace {

std::vector<std::byte> bytes_of(const std::string& text) {
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

// Every text of the drawing, one a line, then "bars" and the widths and heights of its boxes but the paper.
std::string read_by_python(const std::string& svg) {
    const test::ScratchFolder scratch;
    const test::Ran ran = test::run(
        "/usr/bin/python3 -c \"import sys, xml.etree.ElementTree as E; r = E.parse(sys.argv[1]).getroot(); n "
        "= "
        "'{http://www.w3.org/2000/svg}'; assert r.tag == n + 'svg', r.tag; print(*[t.text for t in r.iter(n "
        "+ "
        "'text')], sep='\\n'); print('bars', *[b.get('width') + 'x' + b.get('height') for b in r.iter(n + "
        "'rect')][1:])\" " +
        test::quoted(scratch.write("it.svg", bytes_of(svg))));
    INFO(ran.output);
    REQUIRE(ran.exit_code == 0);
    return ran.output;
}

}  // namespace

TEST_CASE("Bars are as long as their values, each with its number beside it") {
    const std::string text = read_by_python(
        bar_chart_svg({"Findings by kind",
                       {{"Stiff & <odd> \"one\"", 8, "8 findings"}, {"Gritty", 2, "2"}, {"None", 0, "0"}},
                       ""}));
    CHECK(text.find("Stiff & <odd> \"one\"\n8 findings\nGritty\n2\nNone\n0\n") != std::string::npos);
    CHECK(text.find("bars 374.8x12.0 93.7x12.0 1.0x12.0") != std::string::npos);
}

TEST_CASE("A chart without values says so") {
    CHECK(read_by_python(bar_chart_svg({"Findings", {}, ""})).find("Nothing is recorded yet.") !=
          std::string::npos);
    CHECK(read_by_python(column_chart_svg({"Leaving", "items", {}, {}, "a note"}))
              .find("Nothing is recorded yet.\na note") != std::string::npos);
}

TEST_CASE("Columns stack their parts, with the whole above, a row a year") {
    const std::string text = read_by_python(column_chart_svg(
        {"Leaving",
         "items",
         {"rope", "sling"},
         {{"2026", {{"03", {1, 3}}, {"04", {0, 0}}}}, {"2027", {{"03", {2, 0}}, {"04", {}}}}},
         ""}));
    CHECK(text.find("items\n2026\n4\n03\n04\n2027\n2\n03\n04\nrope\nsling\n") != std::string::npos);
    // 52 points for the 4: 13 and 39, then 26 for the 2.
    CHECK(text.find("x13.0 ") != std::string::npos);
    CHECK(text.find("x39.0 ") != std::string::npos);
    CHECK(text.find("x26.0 ") != std::string::npos);
}

TEST_CASE("A long title and a long note go on in the next line") {
    const std::string text = read_by_python(bar_chart_svg(
        {"Findings by age of the item, counted in whole years since it was made", {}, "one two"}));
    CHECK(text.find("Findings by age of the item, counted in whole\nyears since it was made\n") !=
          std::string::npos);
}

TEST_CASE("A long name is cut between letters, not within one") {
    std::string long_name;
    for (int i = 0; i < 10; ++i) long_name += "ÄÖÜäöüß";
    const std::string text = read_by_python(bar_chart_svg({"t", {{long_name, 1, "1"}}, ""}));
    CHECK(text.find("\n" + long_name.substr(0, 2 * 60) + "…\n") != std::string::npos);
}

}  // namespace frayhold::pack
