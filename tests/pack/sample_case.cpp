// SPDX-License-Identifier: Apache-2.0
#include "sample_case.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/reading.h"
#include "photo/encode.h"

namespace frayhold::pack::test {
namespace {

Time at(const char* text) {
    return *parse_time(text);
}
Date day(const char* text) {
    return *parse_date(text);
}

gauge::Reading reading(gauge::Measurand measurand, double value, double scale) {
    return gauge::combine(measurand, value,
                          {{"edge definition: two thresholds of the halo", 0.62 * scale, 40.0},
                           {"height of the silhouette above the card", 0.31 * scale},
                           {"card corners found", 0.12 * scale, 180.0},
                           {"printing of the card", 0.09 * scale},
                           {"lens", 0.08 * scale},
                           {"card size tolerance", 0.03 * scale}});
}

std::string report_with_profile() {
    nlohmann::ordered_json report;
    report["photo"] = {{"width_px", 4000},
                       {"height_px", 3000},
                       {"taken", "2026-02-27T15:42:10"},
                       {"camera", "Ashmeer PC-4"}};
    report["quality"] = {{"usable", true},
                         {"reasons", nlohmann::json::array()},
                         {"sharpness", 0.41},
                         {"clipped_fraction", 0.002}};
    report["card"] = {{"kind", "printed"},  {"tilt_deg", 7.4}, {"distance_mm", 412.0},
                      {"mm_per_px", 0.094}, {"rms_px", 0.11},  {"note", nullptr}};
    std::vector<double> station;
    std::vector<double> width;
    std::vector<double> fray;
    for (int i = 0; i <= 180; ++i) {
        const double x = i;
        const double bump = std::exp(-std::pow((x - 96) / 17, 2));
        station.push_back(x);
        width.push_back(11.02 + 0.06 * std::sin(x * 0.9) + 1.5 * bump);
        fray.push_back(width.back() + (bump > 0.1 ? 4.4 * bump + 0.9 * std::abs(std::sin(x * 1.7)) : 0.0));
    }
    report["profile"] = {
        {"station_mm", station}, {"width_mm", width}, {"fray_mm", fray}, {"baseline_mm", 11.03}};
    report["remarks"] = {"Cannot tell core by colour, as core and sheath are both white: look and feel."};
    return report.dump();
}

record::AdviceEntry advice(const char* criterion, criteria::Outcome outcome, double probability,
                           const char* source, const char* words, const char* because) {
    record::AdviceEntry entry;
    entry.criterion = criterion;
    entry.outcome = outcome;
    entry.probability = probability;
    entry.source = source;
    entry.words = words;
    entry.because = because;
    return entry;
}

record::JournalEntry journal(int number, const char* time, const char* who, const char* action,
                             const char* subject, const char* details) {
    record::JournalEntry entry;
    entry.number = number;
    entry.time = at(time);
    entry.who = who;
    entry.action = action;
    entry.subject = subject;
    entry.details = details;
    entry.previous_hash = record::journal_origin();
    entry.hash = record::hash_of(entry);
    return entry;
}

}  // namespace

record::CaseFile sample_case() {
    record::CaseFile file;
    record::Item& item = file.item;
    item.mark = "K-12";
    item.serial = "AR11-48213";
    item.maker = "Brandel & Voss Ropeworks";
    item.model = "Arbolane 11";
    item.batch = "2021-07-B";
    item.kind = record::Kind::rope_low_stretch;
    item.standard = "EN 1891 A";
    item.material = "polyamide";
    item.length = Millimetres(45'000);
    item.diameter_or_width = Millimetres(11.0);
    item.sheath_colour = "orange, black tracer";
    item.core_colour = "white";
    item.made = day("2021-07-12");
    item.bought = day("2021-11-03");
    item.first_used = day("2022-03-01");
    item.place = "Lower Ashmeer, bay 2";
    item.kit = "Climbing kit 3";
    item.life = {10, 5};
    item.status = record::ItemStatus::on_hold;

    record::Hold& hold = file.hold;
    hold.number = "H-2026-0001";
    hold.item = "K-12";
    hold.state = record::HoldState::ready;
    hold.seen =
        "Sheath fluffed over a hand's width after a day on a rough oak union, about 18 m from the marked "
        "end.";
    hold.opened_by = "Ida Fenwright";
    hold.opened = at("2026-02-27T15:20:00Z");

    record::Finding fray;
    fray.number = 1;
    fray.hold = hold.number;
    fray.kind = "heavy_fray";
    fray.kind_words = "Heavily frayed sheath";
    fray.station = Millimetres(18'200);
    fray.side = "all round, worst on the label side";
    fray.words = "Fibres stand off, yarns look whole under the lens.";
    fray.found_by = "Ida Fenwright";
    fray.found = at("2026-02-27T15:31:00Z");
    fray.advice = {advice(
        "heavy_fray", criteria::Outcome::hold_and_ask, 1.0, "common practice; the figure is this table's own",
        "Heavy fray: the sheath has lost much of its thickness. Ask the maker which wear they allow.",
        "Heavily frayed sheath, 18.2 m, all round")};
    record::Finding stiff = fray;
    stiff.number = 2;
    stiff.kind = "stiff";
    stiff.kind_words = "Stiff length, not shiny";
    stiff.station = Millimetres(18'350);
    stiff.side = "both";
    stiff.words = "";
    stiff.found = at("2026-02-27T15:34:00Z");
    stiff.advice = {
        advice("stiff_or_gritty", criteria::Outcome::hold_and_ask, 1.0, "common practice",
               "Clean it as the maker says, dry it and feel it again. Ask the maker if it stays so.",
               "Stiff length, not shiny, 18.35 m, both")};
    file.findings = {fray, stiff};

    const auto photo = [&](int number, record::PhotoRole role, const char* name) {
        record::PhotoEntry entry;
        entry.number = number;
        entry.hold = hold.number;
        entry.role = role;
        entry.sha256 = std::string(63, static_cast<char>('a' + number)) + "0";
        entry.file_name = name;
        entry.size_bytes = 3'482'112;
        entry.taken = "2026-02-27T15:42:10";
        entry.usable = true;
        entry.added_by = "Ida Fenwright";
        entry.added = at("2026-02-27T15:50:00Z");
        return entry;
    };
    record::PhotoEntry whole = photo(1, record::PhotoRole::whole_item, "IMG_2041.JPG");
    record::PhotoEntry close = photo(2, record::PhotoRole::close_up, "IMG_2044.JPG");
    close.card_found = true;
    close.markup_sha256 = std::string(64, '2');
    close.report_json = report_with_profile();
    close.readings = {reading(gauge::Measurand::sound_width, 11.03, 0.18),
                      reading(gauge::Measurand::fray_width, 17.62, 0.35),
                      reading(gauge::Measurand::fray_dense_width, 12.71, 0.22),
                      reading(gauge::Measurand::fray_length, 58.4, 1.1),
                      reading(gauge::Measurand::fray_area, 212.0, 9.5)};
    close.advice = {
        advice("heavy_fray", criteria::Outcome::hold_and_ask, 0.9981,
               "common practice; the figure is this table's own",
               "Heavy fray: the sheath has lost much of its thickness. Ask the maker which wear they allow.",
               "fray_width / sound_width 1.60 ± 0.06, limit 1.50"),
        advice("sheath_yarns_cut", criteria::Outcome::retire, 1.0, "common practice",
               "Cut sheath yarns no longer hold the core together: retire. Of a long rope the place may be "
               "cut out and "
               "the parts kept.",
               "marked by hand in photo 2")};
    record::PhotoEntry other = close;
    other.number = 3;
    other.role = record::PhotoRole::other_side;
    other.file_name = "IMG_2045.JPG";
    other.sha256 = std::string(64, 'd');
    other.markup_sha256 = std::string(64, '3');
    other.readings = {reading(gauge::Measurand::sound_width, 11.06, 0.18),
                      reading(gauge::Measurand::fray_width, 15.1, 0.33)};
    other.advice = {};
    record::PhotoEntry spoilt = photo(4, record::PhotoRole::close_up, "IMG_2043.JPG");
    spoilt.usable = false;
    spoilt.reasons = {"the picture is blurred: hold the camera still and take it again",
                      "glare covers part of the card: turn the lamp away"};
    file.photos = {whole, close, other, spoilt};

    record::WaivedView label;
    label.hold = hold.number;
    label.role = record::PhotoRole::label;
    label.reason = "label worn off; known from its mark";
    label.waived_by = "Ida Fenwright";
    label.waived = at("2026-02-27T15:55:00Z");
    file.waived = {label};

    record::EarlierHold earlier;
    earlier.hold = hold;
    earlier.hold.number = "H-2024-0007";
    earlier.hold.state = record::HoldState::verdict;
    earlier.hold.seen = "Paint splash of a hand's length, 31 m from the marked end.";
    earlier.hold.opened = at("2024-05-14T08:00:00Z");
    record::Finding paint = fray;
    paint.kind = "paint";
    paint.kind_words = "Paint on the textile";
    paint.station = Millimetres(31'000);
    paint.side = "one side";
    paint.words = "";
    paint.found = at("2024-05-14T08:10:00Z");
    earlier.findings = {paint};
    record::Verdict verdict;
    verdict.kind = record::VerdictKind::return_to_service;
    verdict.by = "Tomas Oberlyn";
    verdict.given = at("2024-06-02T10:00:00Z");
    verdict.reason =
        "Water-based paint, maker had cleared it for another rope of the same batch by telephone.";
    verdict.given_against = {"the maker had not answered"};
    earlier.verdict = verdict;
    record::PhotoEntry before = close;
    before.number = 2;
    before.hold = "H-2024-0007";
    before.added = at("2024-05-14T08:20:00Z");
    before.readings = {reading(gauge::Measurand::sound_width, 11.21, 0.18),
                       reading(gauge::Measurand::fray_width, 13.05, 0.35)};
    earlier.photos = {before};
    file.earlier = {earlier};

    record::ItemCheck check;
    check.round = "R-2025-0002";
    check.item = "K-12";
    check.state = record::CheckState::done;
    check.result = record::CheckResult::keep_and_watch;
    check.words = "Watch the place at 18 m.";
    check.findings = {stiff};
    check.done = at("2025-08-11T14:05:00Z");
    check.done_by = "Ida Fenwright";
    file.checks = {check};

    file.journal = {
        journal(41, "2026-02-27T15:20:00Z", "Ida Fenwright", "hold.open", "H-2026-0001",
                R"({"item":"K-12"})"),
        journal(42, "2026-02-27T15:31:00Z", "Ida Fenwright", "finding.add", "H-2026-0001",
                R"({"kind":"heavy_fray","station_mm":18200})"),
        journal(43, "2026-02-27T15:50:00Z", "Ida Fenwright", "photo.add", "H-2026-0001",
                R"({"number":2,"role":"close_up"})"),
        journal(44, "2026-02-27T15:55:00Z", "Ida Fenwright", "view.waive", "H-2026-0001",
                R"({"role":"label"})"),
    };
    return file;
}

std::vector<std::byte> sample_picture(int width_px, int height_px, int seed) {
    cv::Mat picture(height_px, width_px, CV_8UC3);
    cv::RNG random(static_cast<std::uint64_t>(seed) + 1);
    random.fill(picture, cv::RNG::NORMAL, cv::Scalar(118, 132, 140), cv::Scalar(9, 9, 9));
    cv::GaussianBlur(picture, picture, {}, 2.0);
    const double thick = height_px * 0.16;
    const double slope = 0.10 + 0.05 * seed;
    for (int x = 0; x < width_px; ++x) {
        const double middle = height_px * 0.42 + slope * (x - width_px / 2.0);
        for (int d = 0; d < static_cast<int>(thick); ++d) {
            const double across = (d / thick - 0.5) * 2.0;
            const double light = std::sqrt(std::max(0.0, 1.0 - across * across));
            const bool tracer = (static_cast<int>((x + 40.0 * std::asin(across)) / (thick * 0.55)) % 5) == 0;
            const cv::Vec3d colour = tracer ? cv::Vec3d(40, 40, 44) : cv::Vec3d(30, 110, 226);
            const int y = static_cast<int>(middle + d - thick / 2);
            if (y >= 0 && y < height_px)
                for (int c = 0; c < 3; ++c)
                    picture.at<cv::Vec3b>(y, x)[c] =
                        cv::saturate_cast<uchar>(colour[c] * (0.25 + 0.75 * light) + random.gaussian(4));
        }
    }
    for (int i = 0; i < 260; ++i) {
        const int x = static_cast<int>(random.gaussian(width_px * 0.06) + width_px * 0.5);
        const int sign = random.uniform(0, 2) == 0 ? -1 : 1;
        const double y = height_px * 0.42 + slope * (x - width_px / 2.0) + sign * thick * 0.48;
        const cv::Point from(x, static_cast<int>(y));
        const cv::Point to(x + static_cast<int>(random.gaussian(thick * 0.3)),
                           static_cast<int>(y + sign * std::abs(random.gaussian(thick * 0.3))));
        cv::line(picture, from, to, cv::Scalar(60, 140, 236), 1, cv::LINE_AA);
    }
    const cv::Rect card(width_px / 10, height_px * 2 / 3, width_px / 4,
                        static_cast<int>(width_px / 4 * 0.6306));
    cv::rectangle(picture, card, cv::Scalar(242, 242, 242), cv::FILLED);
    cv::rectangle(picture, card, cv::Scalar(20, 20, 20), std::max(1, width_px / 300));
    return photo::encode_jpeg(picture, 85);
}

}  // namespace frayhold::pack::test
