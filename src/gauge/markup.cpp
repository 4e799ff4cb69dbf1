// SPDX-License-Identifier: Apache-2.0
#include "gauge/markup.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <string_view>

#include "gauge/reading_words.h"

namespace frayhold::gauge {
namespace {

const cv::Scalar paper(240, 246, 248);
const cv::Scalar ink(38, 30, 26);
const cv::Scalar line_colour(30, 120, 235);  // the one accent: a warm orange
const cv::Scalar card_colour(150, 110, 40);

// Draws in units of the reduced picture; sizes follow the picture so that marks read alike at any size.
class Canvas {
  public:
    Canvas(cv::Mat& picture, double scale)
        : picture_(picture), scale_(scale), unit_(std::max(picture.cols, picture.rows) / 1000.0) {}

    [[nodiscard]] cv::Point at(cv::Point2d px) const {
        return {static_cast<int>(std::lround((px.x + 0.5) * scale_ - 0.5)),
                static_cast<int>(std::lround((px.y + 0.5) * scale_ - 0.5))};
    }
    [[nodiscard]] int units(double u) const { return std::max(1, static_cast<int>(std::lround(u * unit_))); }

    void polyline(const std::vector<cv::Point2d>& points_px, bool closed, const cv::Scalar& colour) {
        std::vector<cv::Point> points;
        for (const cv::Point2d p : points_px) points.push_back(at(p));
        // A pale casing keeps the line legible on dark and on light alike.
        cv::polylines(picture_, points, closed, paper, units(3.2), cv::LINE_AA);
        cv::polylines(picture_, points, closed, colour, units(1.6), cv::LINE_AA);
    }

    // A label on a paper-coloured slip; "+-" is drawn as one sign. Returns the slip's size.
    cv::Size label(const std::string& text, cv::Point top_left, bool draw) {
        const double size = 0.62 * unit_;
        const int thickness = units(0.9), pad = units(7);
        int baseline = 0;
        const cv::Size body =
            cv::getTextSize(printable(text), cv::FONT_HERSHEY_DUPLEX, size, thickness, &baseline);
        const cv::Size slip(body.width + 2 * pad, body.height + 2 * pad + baseline / 2);
        if (!draw) return slip;
        top_left.x = std::clamp(top_left.x, 0, std::max(0, picture_.cols - slip.width));
        top_left.y = std::clamp(top_left.y, 0, std::max(0, picture_.rows - slip.height));
        cv::rectangle(picture_, {top_left, slip}, paper, cv::FILLED);
        cv::rectangle(picture_, {top_left, slip}, ink, units(0.8), cv::LINE_AA);
        const cv::Point origin(top_left.x + pad, top_left.y + pad + body.height);
        cv::putText(picture_, printable(text), origin, cv::FONT_HERSHEY_DUPLEX, size, ink, thickness,
                    cv::LINE_AA);
        underline_plus(text, origin, size, thickness);
        return slip;
    }

    [[nodiscard]] double scale() const { return scale_; }
    [[nodiscard]] cv::Size size() const { return picture_.size(); }
    cv::Mat& picture() { return picture_; }

  private:
    // The stroke font has no plus-minus: a plus, and a stroke under it.
    static std::string printable(std::string text) {
        for (std::size_t at; (at = text.find("+-")) != std::string::npos;) text.replace(at, 2, "+");
        return text;
    }
    void underline_plus(const std::string& text, cv::Point origin, double size, int thickness) {
        const auto at = text.find("+-");
        if (at == std::string::npos) return;
        int baseline = 0;
        const int before =
            cv::getTextSize(text.substr(0, at), cv::FONT_HERSHEY_DUPLEX, size, thickness, &baseline).width;
        const cv::Size plus = cv::getTextSize("+", cv::FONT_HERSHEY_DUPLEX, size, thickness, &baseline);
        const int y = origin.y + units(1.5);
        cv::line(picture_, {origin.x + before + plus.width / 6, y},
                 {origin.x + before + plus.width * 5 / 6, y}, ink, thickness, cv::LINE_AA);
    }

    cv::Mat& picture_;
    double scale_;
    double unit_;
};

// The stroke font has neither "±" nor "²".
std::string stroke_words(std::string words) {
    const auto replace = [&](std::string_view from, std::string_view to) {
        if (const auto at = words.find(from); at != std::string::npos) words.replace(at, from.size(), to);
    };
    replace("±", "+-");
    replace("²", "2");
    return words;
}

void draw_scale_bar(Canvas& canvas, double mm_per_px) {
    // The longest round length that takes up no more than a fifth of the picture.
    double length_mm = 1;
    for (const double candidate : {1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0})
        if (candidate / mm_per_px * canvas.scale() < 0.2 * canvas.size().width) length_mm = candidate;
    const int length = static_cast<int>(std::lround(length_mm / mm_per_px * canvas.scale()));
    const int margin = canvas.units(24), height = canvas.units(9);
    const cv::Point left(margin, canvas.size().height - margin);
    const std::string words = std::to_string(static_cast<int>(length_mm)) + " mm at the card";
    const double size = 0.5 * canvas.units(100) / 100.0;
    const int thickness = canvas.units(0.8);
    int baseline = 0;
    const int words_width = cv::getTextSize(words, cv::FONT_HERSHEY_DUPLEX, size, thickness, &baseline).width;
    cv::rectangle(canvas.picture(), {left.x - canvas.units(6), left.y - height - canvas.units(34)},
                  {left.x + std::max(length, words_width) + canvas.units(6), left.y + canvas.units(6)}, paper,
                  cv::FILLED);
    for (int i = 0; i < 5; ++i)
        cv::rectangle(canvas.picture(), {left.x + length * i / 5, left.y - height},
                      {left.x + length * (i + 1) / 5, left.y}, i % 2 == 0 ? ink : paper, cv::FILLED);
    cv::rectangle(canvas.picture(), {left.x, left.y - height}, {left.x + length, left.y}, ink,
                  canvas.units(0.8));
    cv::putText(canvas.picture(), words, {left.x, left.y - height - canvas.units(8)}, cv::FONT_HERSHEY_DUPLEX,
                size, ink, thickness, cv::LINE_AA);
}

struct Label {
    std::string text;
    cv::Size slip;
    std::vector<cv::Point> outline;
};

// The corner for a column of labels where it hides least of what was measured and of the card, and then the
// one nearest to what the labels speak of.
cv::Rect quietest_corner(const Canvas& canvas, cv::Size column, const std::vector<cv::Point>& points,
                         cv::Point middle, int margin) {
    const int right = canvas.size().width - column.width - margin,
              bottom = canvas.size().height - column.height - margin;
    const std::array<cv::Point, 3> corners{cv::Point(margin, margin), {right, margin}, {right, bottom}};
    cv::Rect best(corners[0], column);
    double least = -1;
    for (const cv::Point corner : corners) {
        const cv::Rect place(corner, column);
        const auto hidden =
            std::count_if(points.begin(), points.end(), [&](cv::Point p) { return place.contains(p); });
        const double cost = static_cast<double>(hidden) * (canvas.size().width + canvas.size().height) +
                            cv::norm((place.tl() + place.br()) / 2 - middle);
        if (least < 0 || cost < least) {
            least = cost;
            best = place;
        }
    }
    return best;
}

// A column of labels, each tied to the nearest point of its outline by a thin line.
void draw_readings(Canvas& canvas, const Report& report) {
    std::vector<Label> labels;
    std::vector<cv::Point> busy;
    cv::Size column(0, 0);
    cv::Point2d middle(0, 0);  // of the outlines' middles
    const int gap = canvas.units(8);
    for (const Reading& reading : report.readings) {
        if (reading.outline_px.empty()) continue;
        const bool closed = reading.outline_px.size() > 2 && unit_of(reading.measurand) != UnitOf::one;
        canvas.polyline(reading.outline_px, closed, line_colour);
        Label label{words_for(reading.measurand) + "  " + stroke_words(value_words(reading)), {}, {}};
        label.slip = canvas.label(label.text, {0, 0}, false);
        for (const cv::Point2d p : reading.outline_px) label.outline.push_back(canvas.at(p));
        busy.insert(busy.end(), label.outline.begin(), label.outline.end());
        for (const cv::Point p : label.outline)
            middle += cv::Point2d(p) / static_cast<double>(label.outline.size());
        column.width = std::max(column.width, label.slip.width);
        column.height += label.slip.height + gap;
        labels.push_back(std::move(label));
    }
    if (report.card)
        for (int i = 0; i <= 8; ++i)
            for (int j = 0; j <= 8; ++j) {
                const auto& c = report.card->corners_px;
                busy.push_back(canvas.at((c[0] * (8 - i) + c[1] * i) * ((8 - j) / 64.0) +
                                         (c[3] * (8 - i) + c[2] * i) * (j / 64.0)));
            }
    if (!labels.empty()) middle /= static_cast<double>(labels.size());
    const cv::Rect place = quietest_corner(canvas, column, busy, middle, canvas.units(16));
    // The lines first, from the side that faces what they lead to, so that no label is crossed out.
    const bool leads_right = place.x + place.width / 2 < middle.x;
    int y = place.y;
    for (const Label& label : labels) {
        const cv::Point from(leads_right ? place.x + label.slip.width : place.x, y + label.slip.height / 2);
        const cv::Point target = *std::min_element(
            label.outline.begin(), label.outline.end(),
            [&](cv::Point p, cv::Point q) { return cv::norm(p - from) < cv::norm(q - from); });
        cv::line(canvas.picture(), from, target, paper, canvas.units(2), cv::LINE_AA);
        cv::line(canvas.picture(), from, target, ink, canvas.units(0.8), cv::LINE_AA);
        y += label.slip.height + gap;
    }
    y = place.y;
    for (const Label& label : labels) {
        canvas.label(label.text, {place.x, y}, true);
        y += label.slip.height + gap;
    }
}

}  // namespace

cv::Mat draw_markup(const cv::Mat& bgr, const Report& report, int longest_side_px) {
    const int side = std::max(bgr.cols, bgr.rows);
    const double scale =
        longest_side_px > 0 && side > longest_side_px ? static_cast<double>(longest_side_px) / side : 1.0;
    cv::Mat picture;
    if (scale < 1)
        cv::resize(bgr, picture, {}, scale, scale, cv::INTER_AREA);
    else
        picture = bgr.clone();
    Canvas canvas(picture, scale);
    if (report.card) {
        canvas.polyline({report.card->corners_px.begin(), report.card->corners_px.end()}, true, card_colour);
        draw_scale_bar(canvas, report.card->mm_per_px);
    }
    draw_readings(canvas, report);
    return picture;
}

}  // namespace frayhold::gauge
