// SPDX-License-Identifier: Apache-2.0
// Pages as poppler reads them: pdfinfo, pdftotext, pdfimages and pdftoppm (poppler-utils).
#include "pack/case_pdf.h"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <limits>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>
#include <regex>

#include "criteria/advice.h"
#include "gauge/reading_words.h"
#include "outside.h"
#include "pack/photo_report.h"
#include "pack/profile_plot.h"
#include "photo/encode.h"
#include "sample_case.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

CasePdfInput input() {
    CasePdfInput in;
    in.file = test::sample_case();
    in.pictures[1] = {test::sample_picture(600, 800, 0), 8, false};
    in.pictures[2] = {test::sample_picture(800, 600, 0), 1, true};
    in.pictures[3] = {test::sample_picture(600, 800, 1), 1, true};
    in.questions = {"Is the item still fit for service in the state shown?", "Which limit do you apply?"};
    in.own_words = "Is a splice at 18 m allowed?";
    in.outfit = "Korrel Tree Crew";
    in.made = *parse_time("2026-02-28T09:30:00Z");
    return in;
}

std::vector<std::string> pages_of(const std::vector<std::byte>& pdf) {
    std::string text = test::text_of_pdf(pdf);
    std::vector<std::string> pages;
    for (std::size_t end = text.find('\f'); end != std::string::npos; end = text.find('\f')) {
        pages.push_back(text.substr(0, end));
        text.erase(0, end + 1);
    }
    return pages;
}

// The page on which the words stand, from 0; -1 where on none.
int page_with(const std::vector<std::string>& pages, const std::string& words) {
    for (std::size_t i = 0; i < pages.size(); ++i)
        if (pages[i].find(words) != std::string::npos) return static_cast<int>(i);
    return -1;
}

// Without the blanks and line ends that a layout puts between words.
std::string run_together(std::string text) {
    std::erase_if(text, [](char c) { return c == ' ' || c == '\n' || c == '\f'; });
    return text;
}

}  // namespace

TEST_CASE("The case is an A4 document that says when and about what it was made") {
    const test::ScratchFolder scratch;
    const std::string info =
        test::run("TZ=UTC pdfinfo " + test::quoted(scratch.write("case.pdf", case_pdf(input())))).output;
    INFO(info);
    CHECK(info.find("Title:           H-2026-0001: evidence for a query to the maker") != std::string::npos);
    CHECK(info.find("Author:          Korrel Tree Crew") != std::string::npos);
    CHECK(info.find("CreationDate:    Sat Feb 28 09:30:00 2026") != std::string::npos);
    CHECK(info.find("(A4)") != std::string::npos);
}

TEST_CASE("Every page carries the caution and its number") {
    const auto pages = pages_of(case_pdf(input()));
    REQUIRE(pages.size() >= 4);
    for (std::size_t i = 0; i < pages.size(); ++i) {
        CHECK(pages[i].find(criteria::caution) != std::string::npos);
        CHECK(pages[i].find(fmt::format("H-2026-0001 · page {} of {}", i + 1, pages.size())) !=
              std::string::npos);
    }
}

TEST_CASE("What the case holds can be read in it") {
    const auto pdf = case_pdf(input());
    const std::string text = run_together(test::text_of_pdf(pdf));
    for (const std::string words : {"Arbolane 11",
                                    "AR11-48213",
                                    "Brandel & Voss Ropeworks",
                                    "2021-07-B",
                                    "EN 1891 A",
                                    "polyamide",
                                    "45 m",
                                    "2021-07-12",
                                    "2021-11-03",
                                    "2022-03-01",
                                    "Its life ends on 2027-03-01",
                                    "Sheath fluffed over a hand's width",
                                    "Heavily frayed sheath",
                                    "at 18.2 m",
                                    "Stiff length, not shiny",
                                    "Cut sheath yarns no longer hold the core together",
                                    "limit 1.50",
                                    "probability that the limit is passed 99.8 %",
                                    "IMG_2044.JPG",
                                    "Ashmeer PC-4",
                                    "printed reference card",
                                    "Cannot tell core by colour",
                                    "label worn off; known from its mark",
                                    "The picture is blurred",
                                    "IMG_2043.JPG",
                                    "Which limit do you apply?",
                                    "Is a splice at 18 m allowed?",
                                    "H-2024-0007",
                                    "Paint on the textile",
                                    "Beside earlier readings",
                                    "+4.57 ± 0.71 mm",
                                    "H-2024-0007, photo 2, 2024-05-14",
                                    "Earlier checks of this item",
                                    "Keep and watch: Watch the place at 18 m.",
                                    "finding recorded"}) {
        INFO(words);
        CHECK(text.find(run_together(words)) != std::string::npos);
    }
    CHECK(text.find(test::sample_case().journal.back().hash) != std::string::npos);
}

TEST_CASE("Each photo says what its scale was taken from") {
    const std::string printed = "\"kind\":\"printed\"";
    for (const auto& [kind, words] :
         {std::pair("id1", "plain ID-1 card"), std::pair("rule", "two points of a rule"),
          std::pair("corners", "card by corners given by hand")}) {
        CasePdfInput in = input();
        for (record::PhotoEntry& photo : in.file.photos)
            if (const auto at = photo.report_json.find(printed); at != std::string::npos)
                photo.report_json.replace(at, printed.size(), std::string("\"kind\":\"") + kind + "\"");
        INFO(kind);
        CHECK(run_together(test::text_of_pdf(case_pdf(in))).find(run_together(words)) != std::string::npos);
    }
}

TEST_CASE("No reading stands anywhere without its U") {
    const CasePdfInput in = input();
    const std::string text = test::text_of_pdf(case_pdf(in));
    for (const record::PhotoEntry& photo : in.file.photos)
        for (const gauge::Reading& reading : photo.readings) {
            const std::string words = gauge::value_words(reading);
            const std::string value = words.substr(0, words.find(' '));
            const std::string with_u = words.substr(0, words.rfind(' '));
            INFO(words);
            CHECK(text.find(with_u) != std::string::npos);
            const std::regex alone("[^0-9.]" + std::regex_replace(value, std::regex("\\."), "\\.") +
                                   "(?![0-9.]| ±)");
            // Whole numbers such as an area's may be part of another number elsewhere; those with decimals
            // may not.
            if (value.find('.') != std::string::npos) CHECK_FALSE(std::regex_search(text, alone));
        }
    // Coverage factors and budgets stand beside them.
    CHECK(text.find("2.00") != std::string::npos);
    CHECK(run_together(text).find(run_together("edge definition: two thresholds of the halo 0.22 mm")) !=
          std::string::npos);
}

TEST_CASE("What was decided against a rule stands on the first page") {
    CasePdfInput in = input();
    CHECK(pages_of(case_pdf(in))[0].find("Decided against a rule in an earlier hold, H-2024-0007") !=
          std::string::npos);
    record::Verdict verdict;
    verdict.kind = record::VerdictKind::return_with_limit;
    verdict.by = "Tomas Oberlyn";
    verdict.given = in.made;
    verdict.limit = "not above 10 m";
    verdict.reason = "Needed for the ground line only.";
    verdict.given_against = {"criterion sheath_yarns_cut says retire", "the maker has not answered"};
    in.file.verdict = verdict;
    const auto pages = pages_of(case_pdf(in));
    for (const std::string& rule : verdict.given_against) CHECK(pages[0].find(rule) != std::string::npos);
    CHECK(pages[0].find("Needed for the ground line only.") != std::string::npos);
    CHECK(pages[0].find("not above 10 m") != std::string::npos);
    in.file.earlier.clear();
    in.file.verdict->given_against.clear();
    CHECK(pages_of(case_pdf(in))[0].find("against a rule") == std::string::npos);
}

TEST_CASE("Pictures stand in the file byte for byte as they were given") {
    const CasePdfInput in = input();
    const test::ScratchFolder scratch;
    const auto path = scratch.write("case.pdf", case_pdf(in));
    REQUIRE(test::run("pdfimages -j " + test::quoted(path) + " " + test::quoted(scratch.path() / "picture"))
                .exit_code == 0);
    for (int i = 0; i < 3; ++i) {
        INFO(i);
        CHECK(test::bytes_of(scratch.path() / fmt::format("picture-{:03}.jpg", i)) ==
              in.pictures.at(i + 1).jpeg);
    }
}

TEST_CASE("A picture is turned upright by each of the eight orientations") {
    // One colour in each corner of the upright picture.
    cv::Mat upright(90, 160, CV_8UC3);
    upright(cv::Rect(0, 0, 80, 45)) = cv::Scalar(0, 0, 255);
    upright(cv::Rect(80, 0, 80, 45)) = cv::Scalar(0, 255, 0);
    upright(cv::Rect(0, 45, 80, 45)) = cv::Scalar(255, 0, 0);
    upright(cv::Rect(80, 45, 80, 45)) = cv::Scalar(0, 0, 0);
    const auto stored_as = [&](int orientation) {
        cv::Mat stored = upright.clone();
        // From upright back to stored, by the table of Exif 2.3, 4.6.4.
        switch (orientation) {
            case 2:
                cv::flip(upright, stored, 1);
                break;
            case 3:
                cv::flip(upright, stored, -1);
                break;
            case 4:
                cv::flip(upright, stored, 0);
                break;
            case 5:
                cv::transpose(upright, stored);
                break;
            case 6:
                cv::rotate(upright, stored, cv::ROTATE_90_COUNTERCLOCKWISE);
                break;
            case 7:
                cv::rotate(upright, stored, cv::ROTATE_90_CLOCKWISE);
                cv::flip(stored, stored, 1);
                cv::flip(stored, stored, -1);
                break;
            case 8:
                cv::rotate(upright, stored, cv::ROTATE_90_CLOCKWISE);
                break;
            default:
                break;
        }
        return stored;
    };
    const auto page = [&](int orientation) {
        CasePdfInput in = input();
        in.file.earlier.clear();
        in.file.photos = {in.file.photos[0]};
        in.pictures.clear();
        in.pictures[1] = {photo::encode_jpeg(stored_as(orientation), 95), orientation, false};
        const test::ScratchFolder scratch;
        const auto pdf = scratch.write("case.pdf", case_pdf(in));
        REQUIRE(test::run("pdftoppm -r 36 " + test::quoted(pdf) + " " + test::quoted(scratch.path() / "page"))
                    .exit_code == 0);
        std::vector<std::byte> all;
        for (const auto& name : {"page-1.ppm", "page-2.ppm"}) {
            const auto bytes = test::bytes_of(scratch.path() / name);
            all.insert(all.end(), bytes.begin(), bytes.end());
        }
        return all;
    };
    const auto plain = page(1);
    REQUIRE(plain.size() > 100'000);
    for (int orientation = 2; orientation <= 8; ++orientation) {
        INFO(orientation);
        const auto turned = page(orientation);
        REQUIRE(turned.size() == plain.size());
        std::size_t different = 0;
        for (std::size_t i = 0; i < plain.size(); ++i)
            if (std::abs(std::to_integer<int>(plain[i]) - std::to_integer<int>(turned[i])) > 60) ++different;
        // JPEG blurs where colours meet; a wrong turn changes half of the picture, about 8,000 samples.
        CHECK(different < 600);
    }
}

TEST_CASE("A picture is never parted from its name and the heading of its readings") {
    // Whatever stands before it: the text above grows line by line over a whole page.
    for (int lines = 0; lines < 40; lines += 3) {
        CasePdfInput in = input();
        in.pictures.erase(1);
        for (int i = 0; i < lines; ++i) in.own_words += "\nline " + std::to_string(i);
        const auto pages = pages_of(case_pdf(in));
        const int page = page_with(pages, "Photo 2: the damage");
        REQUIRE(page >= 0);
        const std::string& text = pages[static_cast<std::size_t>(page)];
        INFO(lines);
        const std::size_t name = text.find("Photo 2: the damage");
        CHECK(text.find("IMG_2044.JPG", name) != std::string::npos);
        CHECK(text.find("Value ± U", name) != std::string::npos);
        CHECK(text.find("11.03 ± 0.26", name) != std::string::npos);
    }
}

TEST_CASE("Rows are never split between pages, however many and long") {
    CasePdfInput in = input();
    in.pictures.clear();
    in.file.findings.clear();
    for (int i = 0; i < 60; ++i) {
        record::Finding finding;
        finding.number = i + 1;
        finding.kind_words = fmt::format("begin{}mark", i);
        for (int n = 0; n < i % 13; ++n) finding.words += "some words that make the row a few lines higher ";
        finding.words += fmt::format("end{}mark", i);
        in.file.findings.push_back(finding);
    }
    const record::JournalEntry entry = in.file.journal.front();
    for (int i = 0; i < 400; ++i) {
        in.file.journal.push_back(entry);
        in.file.journal.back().number = 1000 + i;
    }
    const auto pages = pages_of(case_pdf(in));
    CHECK(pages.size() > 6);
    for (int i = 0; i < 60; ++i) {
        const int page = page_with(pages, fmt::format("begin{}mark", i));
        INFO(i);
        CHECK(page >= 0);
        CHECK(page == page_with(pages, fmt::format("end{}mark", i)));
        CHECK(pages[static_cast<std::size_t>(page)].find("Finding by hand or eye") != std::string::npos);
    }
    CHECK(page_with(pages, "1399") >= 0);
    constexpr std::size_t shown = 150;
    CHECK(page_with(pages, fmt::format("{} oldest entries are left", in.file.journal.size() - shown)) >= 0);
}

TEST_CASE("Words longer than a page go on, and nothing of them is lost") {
    CasePdfInput in = input();
    in.pictures.clear();
    std::string longer;
    for (int i = 0; i < 3000; ++i) longer += fmt::format("w{} ", i);
    in.file.hold.seen = longer;
    in.file.findings[0].words = longer;
    in.own_words = longer;
    const std::string text = run_together(test::text_of_pdf(case_pdf(in)));
    for (int i = 0; i < 3000; i += 50) {
        int times = 0;
        const std::string word = fmt::format("w{}w{}", i, i + 1);
        for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) ++times;
        // In a table cell other cells' text may come between two words.
        CHECK(times >= 2);
    }
}

TEST_CASE("Any script prints and can be found again") {
    CasePdfInput in = input();
    const std::vector<std::string> words{"Mäntelgewölbe süß", "κατεστραμμένη πλεξούδα", "скрученная верёвка"};
    for (const std::string& one : words) in.file.findings[0].words += one + "\n";
    in.file.item.maker = "الشركة";
    in.file.item.model = "绳索十一号";
    const std::string text = test::text_of_pdf(case_pdf(in));
    for (const std::string& one : words) CHECK(text.find(one) != std::string::npos);
    // Needs Debian's fonts-noto-core and fonts-droid-fallback (or other fonts of these scripts).
    CHECK(text.find("绳索十一号") != std::string::npos);
    // The letters of a right-to-left word; poppler gives them in reading order, joined forms undone.
    CHECK(text.find("الشركة") != std::string::npos);
}

TEST_CASE("The same case gives the same bytes") {
    CHECK(case_pdf(input()) == case_pdf(input()));
    CasePdfInput other = input();
    other.file.hold.seen += "!";
    CHECK(case_pdf(other) != case_pdf(input()));
}

TEST_CASE("A case with nothing in it prints, and so does one full of nonsense") {
    CHECK(pages_of(case_pdf(CasePdfInput{})).size() == 1);

    CasePdfInput in = input();
    in.file.hold.seen = std::string("NUL \0 and bytes \xFF\xFE and \x1B[31m", 30);
    in.file.photos[1].report_json =
        "{\"profile\": {\"station_mm\": [1, \"x\"], \"width_mm\": 7}, \"remarks\": {}, \"card\": []}";
    in.file.photos[2].report_json = "not json";
    gauge::Reading odd;
    odd.measurand = gauge::Measurand::stitch_rows;
    odd.value = std::numeric_limits<double>::quiet_NaN();
    odd.budget = {{"zero", 0.0}, {"huge", 1e300}};
    in.file.photos[2].readings = {odd};
    CHECK(pages_of(case_pdf(in)).size() >= 3);

    in = input();
    in.pictures[2].jpeg = {std::byte{1}, std::byte{2}};
    CHECK_THROWS_AS(case_pdf(in), Failure);
}

TEST_CASE("A photo's report is read as far as it makes sense") {
    const PhotoReport report = read_photo_report(test::sample_case().photos[1].report_json);
    CHECK(report.camera == "Ashmeer PC-4");
    CHECK(report.card_kind == "printed");
    CHECK(report.tilt_deg == 7.4);
    CHECK(report.remarks.size() == 1);
    CHECK(report.station_mm.size() == 181);
    CHECK(has_profile(report));
    CHECK_FALSE(has_profile(read_photo_report("")));
    CHECK_FALSE(has_profile(read_photo_report("[]")));
    CHECK_FALSE(has_profile(read_photo_report(R"({"profile": {"station_mm": [1, 2], "width_mm": [1, 2]}})")));
    // Lists of different length are no profile; a missing halo is none.
    CHECK(
        read_photo_report(R"({"profile": {"station_mm": [1, 2, 3], "width_mm": [1, 2]}})").width_mm.empty());
    CHECK(read_photo_report(R"({"profile": {"station_mm": [1, 2], "width_mm": [1, 2], "fray_mm": [9]}})")
              .fray_mm == std::vector<double>{1, 2});
}

}  // namespace frayhold::pack
