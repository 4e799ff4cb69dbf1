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
    const std::string text = read_by_python(bar_chart_svg(
        {"Findings by kind", "findings", {{"Stiff & <odd> \"one\"", 8}, {"Gritty", 2}, {"None", 0}}, ""}));
    CHECK(text.find("Stiff & <odd> \"one\"\n8 findings\nGritty\n2\nNone\n0\n") != std::string::npos);
    CHECK(text.find("bars 338.0x14.0 84.5x14.0 1.0x14.0") != std::string::npos);
}

TEST_CASE("A chart without values says so") {
    CHECK(read_by_python(bar_chart_svg({"Findings", "findings", {}, ""})).find("Nothing is recorded yet.") !=
          std::string::npos);
    CHECK(read_by_python(column_chart_svg({"Leaving", "items", {}, {}, "a note"}))
              .find("Nothing is recorded yet.") != std::string::npos);
}

TEST_CASE("Columns stack their parts, with the whole above") {
    const std::string text =
        read_by_python(column_chart_svg({"Leaving",
                                         "items",
                                         {"rope", "sling"},
                                         {{"2026-03", {1, 3}}, {"2026-04", {0, 0}}, {"2026-05", {2, 0}}},
                                         ""}));
    CHECK(text.find("4\n2026-03\n2026-04\n2\n2026-05\n") != std::string::npos);
    // 180 points for the 4: 45 and 135, then 90 for the 2.
    CHECK(text.find("x45.0 ") != std::string::npos);
    CHECK(text.find("x135.0 ") != std::string::npos);
    CHECK(text.find("x90.0 ") != std::string::npos);
}

TEST_CASE("A long name is cut between letters, not within one") {
    const std::string text =
        read_by_python(bar_chart_svg({"t", "u", {{"ÄÖÜäöüßÄÖÜäöüßÄÖÜäöüßÄÖÜäöüßÄÖÜäöüßÄÖÜäöüß", 1}}, ""}));
    CHECK(text.find("ÄÖÜäöüßÄÖÜäöüßÄÖÜäöüßÄÖÜäöüßÄÖÜäöüßÄ…") != std::string::npos);
}

}  // namespace frayhold::pack
