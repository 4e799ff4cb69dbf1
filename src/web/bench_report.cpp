// SPDX-License-Identifier: Apache-2.0
#include "web/bench_report.h"

#include <fmt/format.h>

#include <cmath>

#include "desk/photo_bench.h"
#include "gauge/measurand.h"
#include "gauge/reading_words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/text.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

constexpr std::size_t most_things = 200;
constexpr std::size_t most_points = 500;

[[noreturn]] void not_drawn(const std::string& what) {
    throw Failure(Fault::input, tr("what was drawn"), what, "reload the page and draw it again");
}

std::string text_of(const json& from, const char* name) {
    return from.contains(name) ? record::trimmed(from.at(name).get<std::string>()) : "";
}

json budget_words(const gauge::Reading& reading) {
    json lines = json::array();
    const std::string unit(gauge::symbol_of(gauge::unit_of(reading.measurand)));
    const double whole = reading.u * reading.u;
    for (const gauge::BudgetLine& line : reading.budget)
        lines.push_back({{"source", tr_recorded(line.source)},
                         {"u", line.u},
                         {"words", fmt::format("{:.2g} {}", line.u, unit)},
                         {"share", whole > 0 ? std::round(100 * line.u * line.u / whole) : 0.0}});
    return lines;
}

void add_words(json& report, const std::vector<gauge::Reading>& readings) {
    json& list = report["readings"];
    for (std::size_t i = 0; i < readings.size() && i < list.size(); ++i) {
        list[i]["name"] = tr_word(gauge::words_for(readings[i].measurand));
        list[i]["words"] = gauge::value_words(readings[i]);
        list[i]["k_words"] = fmt::format("k = {:.2f}", readings[i].k);
        list[i]["budget"] = budget_words(readings[i]);
    }
}

// The sentences of a report as they are shown.
void translate_sentences(json& report) {
    for (const char* list : {"/remarks", "/quality/reasons"}) {
        const json::json_pointer at(list);
        if (!report.contains(at) || !report[at].is_array()) continue;
        for (json& sentence : report[at])
            if (sentence.is_string()) sentence = tr_recorded(sentence.get<std::string>());
    }
}

}  // namespace

std::vector<cv::Point2d> points_of(const json& list) {
    if (!list.is_array() || list.size() > most_points) not_drawn(tr("it has too many points"));
    std::vector<cv::Point2d> points;
    for (const json& pair : list) {
        if (!pair.is_array() || pair.size() != 2 || !pair[0].is_number() || !pair[1].is_number())
            not_drawn(tr("a point is not two numbers"));
        const cv::Point2d point(pair[0].get<double>(), pair[1].get<double>());
        constexpr double farthest_px = 1e6;
        if (!(std::abs(point.x) < farthest_px && std::abs(point.y) < farthest_px))
            not_drawn(tr("a point lies far off the picture"));
        points.push_back(point);
    }
    return points;
}

desk::Drawn drawn_from_json(const std::string& text) {
    desk::Drawn drawn;
    const json given = json::parse(text, nullptr, false);
    if (!given.is_object()) not_drawn(tr("it cannot be read"));
    try {
        if (given.contains("corners") && !given.at("corners").is_null()) {
            const auto points = points_of(given.at("corners"));
            if (points.size() != 4) not_drawn(tr("the card has four corners"));
            drawn.corners_px = {points[0], points[1], points[2], points[3]};
        }
        const json marks = given.value("marks", json::array());
        const json pins = given.value("pins", json::array());
        if (marks.size() + pins.size() > most_things) not_drawn(tr("there is too much on the photo"));
        for (const json& mark : marks) {
            const auto measurand = gauge::measurand_named(mark.at("kind").get<std::string>());
            if (!measurand || !gauge::is_by_hand(*measurand))
                not_drawn(tr("a mark is of no kind that is drawn"));
            drawn.marks.push_back({*measurand, points_of(mark.at("points")), text_of(mark, "label")});
            const std::size_t least = *measurand == gauge::Measurand::area ? 3 : 2;
            if (drawn.marks.back().points_px.size() < least) not_drawn(tr("a mark has too few points"));
        }
        for (const json& pin : pins) {
            const auto at = points_of(json::array({pin.at("at")}));
            drawn.pins.push_back({at[0], text_of(pin, "words")});
        }
    } catch (const json::exception&) {
        not_drawn(tr("it cannot be read"));
    }
    return drawn;
}

json drawn_json(const desk::Drawn& drawn) {
    const auto points_json = [](const auto& points) {
        json list = json::array();
        for (const cv::Point2d& point : points) list.push_back({point.x, point.y});
        return list;
    };
    json out;
    out["corners"] = drawn.corners_px ? points_json(*drawn.corners_px) : json(nullptr);
    out["marks"] = json::array();
    for (const gauge::HandMark& mark : drawn.marks)
        out["marks"].push_back({{"kind", gauge::name_of(mark.measurand)},
                                {"points", points_json(mark.points_px)},
                                {"label", mark.label}});
    out["pins"] = json::array();
    for (const desk::PinnedWords& pin : drawn.pins)
        out["pins"].push_back({{"at", {pin.at_px.x, pin.at_px.y}}, {"words", pin.words}});
    return out;
}

json report_for_bench(const desk::MeasuredPhoto& measured, const desk::Drawn& drawn) {
    json out = json::parse(measured.report_json);
    add_words(out, measured.report.readings);
    translate_sentences(out);
    out["hand_from"] = out["readings"].size() - desk::readings_of(drawn, measured.report).size();
    return out;
}

json followed_json(const std::vector<gauge::Reading>& readings) {
    json out{{"readings", json::array()}};
    for (const gauge::Reading& reading : readings)
        out["readings"].push_back({{"quantity", gauge::name_of(reading.measurand)}});
    add_words(out, readings);
    return out;
}

json kept_report_json(const record::PhotoEntry& entry) {
    json out = json::parse(entry.report_json, nullptr, false);
    if (!out.is_object()) out = json::object();
    if (!out.contains("readings")) out["readings"] = json::array();
    add_words(out, entry.readings);
    translate_sentences(out);
    out["hand_from"] = out["readings"].size();
    return out;
}

}  // namespace frayhold::web
