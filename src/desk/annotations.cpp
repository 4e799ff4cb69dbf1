// SPDX-License-Identifier: Apache-2.0
#include "desk/annotations.h"

#include <fmt/format.h>

#include <cstdlib>
#include <nlohmann/json.hpp>
#include <span>

#include "gauge/reading_words.h"
#include "language/tr.h"
#include "photo/sha256.h"

namespace frayhold::desk {
namespace {

using Json = nlohmann::ordered_json;
using Points = std::vector<cv::Point2d>;

constexpr double svg_offset_px = 0.5;
constexpr const char* card_class = "card";
constexpr const char* pin_class = "pin";

std::string points_text(const Points& points) {
    std::string text;
    for (const cv::Point2d point : points)
        text +=
            fmt::format("{}{},{}", text.empty() ? "" : " ", point.x + svg_offset_px, point.y + svg_offset_px);
    return text;
}

std::string svg_of(const Points& points, bool closed) {
    const char* shape = closed ? "polygon" : "polyline";
    return fmt::format(R"(<svg xmlns="http://www.w3.org/2000/svg"><{} points="{}"/></svg>)", shape,
                       points_text(points));
}

Points points_of_svg(const std::string& svg) {
    const std::string opening = "points=\"";
    Points points;
    const std::size_t from = svg.find(opening);
    if (from == std::string::npos) return points;
    const char* at = svg.c_str() + from + opening.size();
    for (;;) {
        char* end = nullptr;
        const double x = std::strtod(at, &end);
        if (end == at || *end != ',') return points;
        at = end + 1;
        const double y = std::strtod(at, &end);
        if (end == at) return points;
        points.emplace_back(x - svg_offset_px, y - svg_offset_px);
        at = end;
    }
}

// The same thing drawn gets the same name again (RFC 9562, 5.8).
std::string urn_uuid(const std::string& of) {
    std::string hex = photo::sha256_hex(std::as_bytes(std::span(of))).substr(0, 32);
    hex[12] = '8';
    hex[16] = 'a';
    return fmt::format("urn:uuid:{}-{}-{}-{}-{}", hex.substr(0, 8), hex.substr(8, 4), hex.substr(12, 4),
                       hex.substr(16, 4), hex.substr(20));
}

Json text_body(const char* purpose, const std::string& value) {
    return {{"type", "TextualBody"}, {"purpose", purpose}, {"value", value}, {"format", "text/plain"}};
}

std::string body_value(const Json& annotation, std::string_view purpose) {
    for (const Json& body : annotation.at("body"))
        if (body.at("purpose") == purpose) return body.at("value").get<std::string>();
    return "";
}

}  // namespace

std::string annotation_page(const record::PhotoEntry& photo, const Drawn& drawn,
                            const std::vector<gauge::Reading>& readings, const std::string& who, Time time) {
    const std::string base = fmt::format("{}/{}/{}/{}", photo.hold, photo.number, to_text(time), who);
    Json items = Json::array();
    const auto add = [&](const std::string& kind, const Points& points, bool closed, const std::string& words,
                         const std::string& value) {
        Json body = Json::array({text_body("classifying", kind)});
        if (!words.empty()) body.push_back(text_body("tagging", words));
        if (!value.empty()) body.push_back(text_body("describing", value));
        items.push_back({{"id", urn_uuid(fmt::format("{}/{}", base, items.size()))},
                         {"type", "Annotation"},
                         {"motivation", "describing"},
                         {"created", to_text(time)},
                         {"creator", {{"type", "Person"}, {"name", who}}},
                         {"body", std::move(body)},
                         {"target",
                          {{"source", "nih:sha-256;" + photo.sha256},
                           {"type", "SpecificResource"},
                           {"selector", {{"type", "SvgSelector"}, {"value", svg_of(points, closed)}}}}}});
    };
    if (drawn.corners_px)
        add(card_class, Points(drawn.corners_px->begin(), drawn.corners_px->end()), true, "", "");
    for (std::size_t i = 0; i < drawn.marks.size(); ++i) {
        const gauge::HandMark& mark = drawn.marks[i];
        const std::string value = i < readings.size() ? gauge::words_for(readings[i].measurand) + " " +
                                                            gauge::value_words(readings[i])
                                                      : "";
        add(std::string(gauge::name_of(mark.measurand)), mark.points_px,
            mark.measurand == gauge::Measurand::area, mark.label, value);
    }
    for (const PinnedWords& pin : drawn.pins) add(pin_class, {pin.at_px}, false, pin.words, "");

    const Json page{{"@context", "http://www.w3.org/ns/anno.jsonld"},
                    {"id", urn_uuid(base)},
                    {"type", "AnnotationPage"},
                    {"items", std::move(items)}};
    constexpr int indent = 1;
    return page.dump(indent, ' ', false, Json::error_handler_t::replace);
}

Result<Drawn> drawn_from_annotations(const std::string& text) {
    Drawn drawn;
    try {
        const Json page = Json::parse(text);
        for (const Json& annotation : page.at("items")) {
            const Points points =
                points_of_svg(annotation.at("target").at("selector").at("value").get<std::string>());
            const std::string kind = body_value(annotation, "classifying");
            const std::string words = body_value(annotation, "tagging");
            const auto measurand = gauge::measurand_named(kind);
            if (kind == card_class && points.size() == 4)
                drawn.corners_px = {points[0], points[1], points[2], points[3]};
            else if (kind == pin_class && points.size() == 1)
                drawn.pins.push_back({points[0], words});
            else if (measurand)
                drawn.marks.push_back({*measurand, points, words});
            else
                return failed(Fault::input, tr("annotation"),
                              trf("\"{}\" is nothing that is drawn here", kind), "draw it again");
        }
    } catch (const Json::exception&) {
        return failed(Fault::input, tr("annotations"), "this is no page of W3C Web Annotations",
                      "draw it again");
    }
    return drawn;
}

}  // namespace frayhold::desk
