// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <opencv2/imgproc.hpp>

#include "gauge/webbing_cells.h"
#include "gauge/webbing_cut.h"
#include "gauge/webbing_edges.h"
#include "gauge/webbing_mark.h"
#include "gauge/webbing_nick.h"
#include "gauge/webbing_stitches.h"

using namespace frayhold::gauge;

namespace {

constexpr double mm_per_px = 0.125;
constexpr double half_width_mm = 12.5;
const cv::Scalar bench_colour(120, 140, 130), web_colour(50, 60, 170), thread_colour(210, 220, 225);

// A straight webbing 25 mm wide and 200 mm long, unrolled, with a little noise; damage is painted in `paint`,
// which works in pixels of the strip.
template <class Paint>
WebEdges painted(const Paint& paint, cv::Scalar web = web_colour) {
    WebEdges edges;
    const int rows = static_cast<int>(200 / mm_per_px), middle = static_cast<int>(27 / mm_per_px);
    Strip& strip = edges.strip;
    strip.mm_per_px = mm_per_px;
    strip.middle = middle;
    strip.line = centre_line({{0, 0}, {200, 0}}, 1.0, mm_per_px);
    strip.bgr = cv::Mat(rows, 2 * middle + 1, CV_8UC3, bench_colour);
    const auto column = [&](double across_mm) {
        return static_cast<int>(std::lround(strip.column_at(across_mm)));
    };
    cv::rectangle(strip.bgr, {column(-half_width_mm), 0}, {column(half_width_mm) - 1, rows}, web, cv::FILLED);
    paint(strip);
    cv::Mat noise(strip.bgr.size(), CV_16SC3);
    cv::RNG random(7);
    random.fill(noise, cv::RNG::NORMAL, 0, 5);
    cv::add(strip.bgr, noise, strip.bgr, cv::noArray(), CV_8U);
    cv::GaussianBlur(strip.bgr, strip.bgr, {}, 0.8);
    strip.seen = cv::Mat::ones(strip.bgr.size(), CV_8U);
    edges.light = station_light(strip);
    edges.sound = {std::vector<double>(edges.light.row.size(), -half_width_mm),
                   std::vector<double>(edges.light.row.size(), half_width_mm)};
    edges.blur_mm = 0.8 * mm_per_px;
    return edges;
}

void cut(Strip& strip, double side, double at_mm, double length_mm, double depth_mm) {
    const auto point = [&](double along_mm, double across_mm) {
        return cv::Point(static_cast<int>(std::lround(strip.column_at(across_mm))),
                         static_cast<int>(std::lround(along_mm / mm_per_px)));
    };
    const double edge = side * half_width_mm;
    const std::vector<cv::Point> triangle{point(at_mm - length_mm / 2, edge),
                                          point(at_mm, edge - side * depth_mm),
                                          point(at_mm + length_mm / 2, edge)};
    cv::fillConvexPoly(strip.bgr, triangle, bench_colour);
}

// Zigzag thread across the webbing, with an optional stretch left out.
void stitch(Strip& strip, double at_mm, double gap_from_mm = 0, double gap_to_mm = 0) {
    constexpr double amplitude_mm = 1.2, half_period_mm = 0.9;
    double across = -8.0, sign = 1.0;
    while (across < 8.0) {
        const auto point = [&](double along_mm, double across_mm) {
            return cv::Point(static_cast<int>(std::lround(strip.column_at(across_mm))),
                             static_cast<int>(std::lround(along_mm / mm_per_px)));
        };
        if (across < gap_from_mm || across >= gap_to_mm)
            cv::line(strip.bgr, point(at_mm - sign * amplitude_mm, across),
                     point(at_mm + sign * amplitude_mm, across + half_period_mm), thread_colour, 6);
        across += half_period_mm;
        sign = -sign;
    }
}

constexpr CutSides from_above{0.1, 0.0, 0.8 * mm_per_px};

}  // namespace

TEST_CASE("webbing without damage shows neither nick nor stitching") {
    const WebCells cells = web_cells(painted([](Strip&) {}));
    const NickSearch nick = find_nick(cells, from_above);
    CHECK(nick.can_tell);
    CHECK_FALSE(nick.deepest);
    CHECK(find_stitches(cells).rows.empty());
}

TEST_CASE("a cut edge is found with its depth, length and side") {
    const double side = GENERATE(-1.0, 1.0);
    const double depth = GENERATE(1.5, 4.0, 8.0);
    const double length = GENERATE(3.0, 6.0);
    const WebCells cells = web_cells(painted([&](Strip& strip) { cut(strip, side, 90.0, length, depth); }));
    const NickSearch search = find_nick(cells, from_above);
    REQUIRE(search.deepest);
    CHECK(search.others == 0);
    CHECK(search.deepest->side == side);
    CHECK(search.deepest->depth_mm == Approx(depth).margin(0.4));
    CHECK((search.deepest->to_row - search.deepest->from_row) * mm_per_px == Approx(length).margin(0.7));
    CHECK(search.deepest->deepest_row * mm_per_px == Approx(90.0).margin(0.5));
}

TEST_CASE("a narrow cut is followed to where it closes, fibres across it or not") {
    const double depth = GENERATE(4.0, 8.0);
    const double length = GENERATE(1.5, 2.5);
    const bool fibres = GENERATE(false, true);
    const WebCells cells = web_cells(painted([&](Strip& strip) {
        cut(strip, 1.0, 90.0, length, depth);
        if (!fibres) return;
        for (const double share : {0.3, 0.6}) {
            const cv::Point at(static_cast<int>(strip.column_at(half_width_mm - share * depth)),
                               static_cast<int>(90.0 / mm_per_px));
            cv::line(strip.bgr, at - cv::Point(2, 8), at + cv::Point(2, 8), web_colour, 2);
        }
    }));
    const NickSearch search = find_nick(cells, from_above);
    REQUIRE(search.deepest);
    const WebNick& nick = *search.deepest;
    CAPTURE(depth, length, fibres, nick.depth_mm, nick.depth_u_mm);
    CHECK(std::abs(nick.depth_mm - depth) < 2 * nick.depth_u_mm);
    CHECK(std::abs(nick.depth_mm - depth) < 0.12 * depth);
}

TEST_CASE("ragged ends over one side of a cut near its point do not make it less deep") {
    const double depth = GENERATE(5.0, 8.0);
    const double length = GENERATE(2.5, 3.5, 5.0);
    const WebCells cells = web_cells(painted([&](Strip& strip) {
        cut(strip, 1.0, 90.0, length, depth);
        const auto point = [&](double along_mm, double share) {
            return cv::Point(static_cast<int>(std::lround(strip.column_at(half_width_mm - share * depth))),
                             static_cast<int>(std::lround((90.0 + along_mm) / mm_per_px)));
        };
        for (const double share : {0.55, 0.7, 0.85})
            cv::line(strip.bgr, point(0.5 * length * (1 - share), share), point(0.0, share - 0.1), web_colour,
                     2);
    }));
    const NickSearch search = find_nick(cells, from_above);
    REQUIRE(search.deepest);
    const WebNick& nick = *search.deepest;
    CAPTURE(depth, length, nick.depth_mm, nick.depth_u_mm);
    CHECK(std::abs(nick.depth_mm - depth) < 2 * nick.depth_u_mm);
    CHECK(nick.depth_mm > 0.93 * depth);
}

TEST_CASE("a cut across a stripe much like the bench is as deep as it is in the webbing about it") {
    const WebCells cells = web_cells(painted([](Strip& strip) {
        const auto column = [&](double across_mm) {
            return static_cast<int>(std::lround(strip.column_at(across_mm)));
        };
        cv::rectangle(strip.bgr, {column(half_width_mm - 4.0), 0},
                      {column(half_width_mm - 2.5), strip.bgr.rows}, {140, 165, 155}, cv::FILLED);
        cut(strip, 1.0, 90.0, 5.0, 6.0);
    }));
    const NickSearch search = find_nick(cells, from_above);
    REQUIRE(search.deepest);
    CHECK(search.deepest->depth_mm == Approx(6.0).margin(0.5));
}

TEST_CASE("a cut in black webbing is read, though bench in shadow is dark too") {
    const cv::Scalar black(48, 57, 53);  // of the bench's own hue
    const WebCells cells = web_cells(painted([](Strip& strip) { cut(strip, 1.0, 90.0, 5.0, 4.0); }, black));
    const NickSearch search = find_nick(cells, from_above);
    REQUIRE(search.deepest);
    CHECK(search.deepest->depth_mm == Approx(4.0).margin(0.4));
}

TEST_CASE("a cut whose mouth looks like webbing is spoken of, not passed over") {
    // Plain webbing is about of the bench's colour, but for a broad stripe that the cut parts.
    const WebCells cells = web_cells(painted(
        [](Strip& strip) {
            const auto column = [&](double across_mm) {
                return static_cast<int>(std::lround(strip.column_at(across_mm)));
            };
            for (const double side : {-1.0, 1.0}) {
                const int a = column(side * (half_width_mm - 1.0)), b = column(side * (half_width_mm - 4.0));
                cv::rectangle(strip.bgr, {std::min(a, b), 0}, {std::max(a, b), strip.bgr.rows}, web_colour,
                              cv::FILLED);
            }
            cut(strip, 1.0, 90.0, 6.0, 6.0);
        },
        {118, 138, 128}));
    const NickSearch search = find_nick(cells, from_above);
    CHECK_FALSE(search.can_tell);
    CHECK_FALSE(search.deepest);
}

TEST_CASE("grooves of the weave that come again all along an edge are no nicks, a cut among them is") {
    const bool has_cut = GENERATE(false, true);
    // Where floats of the yarns end: as dark as bench in shadow.
    const WebCells cells = web_cells(painted(
        [&](Strip& strip) {
            constexpr double apart_mm = 4.0, length_mm = 0.9, depth_mm = 1.1;
            const auto column = [&](double depth) {
                return static_cast<int>(std::lround(strip.column_at(half_width_mm - depth)));
            };
            for (double at_mm = 4.0; at_mm < 198.0; at_mm += apart_mm) {
                const int row = static_cast<int>(at_mm / mm_per_px),
                          half = static_cast<int>(length_mm / mm_per_px / 2);
                const std::vector<cv::Point> groove{
                    {column(0.0), row - half}, {column(depth_mm), row}, {column(0.0), row + half}};
                cv::fillConvexPoly(strip.bgr, groove, {96, 112, 104});
            }
            if (has_cut) cut(strip, 1.0, 90.0, 5.0, 4.0);
        },
        {215, 222, 224}));
    const NickSearch search = find_nick(cells, from_above);
    CHECK_FALSE(search.can_tell);
    REQUIRE(search.deepest.has_value() == has_cut);
    if (!has_cut) return;
    CHECK(search.others == 0);
    CHECK(search.deepest->depth_mm == Approx(4.0).margin(0.5));
}

TEST_CASE("where bench is seen to end, a cut closes about there, though its sides lead on") {
    // Blunt: as wide as pale torn ends that pass for bench make it.
    constexpr double depth = 4.0;
    const WebCells cells = web_cells(painted([](Strip& strip) {
        const auto point = [&](double along_mm, double depth_mm) {
            return cv::Point(static_cast<int>(std::lround(strip.column_at(half_width_mm - depth_mm))),
                             static_cast<int>(std::lround((90.0 + along_mm) / mm_per_px)));
        };
        const std::vector<cv::Point> blunt{point(-3.0, 0.0), point(-0.6, depth), point(0.6, depth),
                                           point(3.0, 0.0)};
        cv::fillConvexPoly(strip.bgr, blunt, bench_colour);
    }));
    const NickSearch search = find_nick(cells, from_above);
    REQUIRE(search.deepest);
    const WebNick& nick = *search.deepest;
    CAPTURE(nick.depth_mm, nick.depth_u_mm);
    constexpr double a_cell = 0.3;
    CHECK(nick.depth_mm - 2 * nick.depth_u_mm < depth + a_cell);
}

TEST_CASE("where a dark line leads on from a cut, the cut may go on as far") {
    const double line_to = GENERATE(0.0, 7.0);
    const WebCells cells = web_cells(painted([&](Strip& strip) {
        cut(strip, 1.0, 90.0, 4.0, 3.0);
        if (line_to == 0.0) return;
        const int row = static_cast<int>(90.0 / mm_per_px);
        const auto column = [&](double depth_mm) {
            return static_cast<int>(std::lround(strip.column_at(half_width_mm - depth_mm)));
        };
        cv::line(strip.bgr, {column(2.5), row}, {column(line_to), row}, {8, 8, 8}, 2);
    }));
    const NickSearch search = find_nick(cells, from_above);
    REQUIRE(search.deepest);
    const WebNick& nick = *search.deepest;
    CAPTURE(line_to, nick.depth_mm, nick.depth_u_mm);
    if (line_to == 0.0) {
        CHECK(nick.depth_mm == Approx(3.0).margin(0.4));
        CHECK(nick.depth_u_mm < 0.4);
    } else {
        CHECK(nick.depth_mm > 3.4);
        CHECK(nick.depth_mm + 2 * nick.depth_u_mm > 6.8);
    }
}

TEST_CASE("a mark is followed inward while it is narrow and hardly broken") {
    cv::Mat ratio(80, 30, CV_32F, cv::Scalar(-3.0));
    for (int d = 4; d < 20; ++d) ratio.at<float>(40 + d / 4, d) = d == 11 ? -3.0F : 0.0F;
    CHECK(mark_leads_to(ratio, 40, 43, 4) == 20);
    CHECK(mark_leads_to(ratio, 60, 63, 4) == 4);
    // A row of stitches runs as far along the webbing.
    ratio(cv::Range(30, 60), cv::Range(14, 20)).setTo(0.0);
    CHECK(mark_leads_to(ratio, 40, 43, 4) < 20);
    // A stripe in which webbing is not plain tells nothing.
    ratio.col(9).setTo(-0.5);
    CHECK(mark_leads_to(ratio, 40, 43, 4) == 9);
}

TEST_CASE("a cut seen from straight above is as it looks") {
    const Cut cut = cut_seen_aslant({4.0, 3.0, 1.0}, {0.0, 0.0}, 2.0);
    CHECK(cut.length_mm == Approx(4.0));
    CHECK(cut.depth_mm == Approx(3.0));
    CHECK(cut.point_mm == Approx(1.0));
}

TEST_CASE("upright sides of a cut seen aslant hide as much of it as they stand high") {
    // So deep that its sides hardly slant: one hides from its middle height to its top, the other from its
    // middle height to its foot.
    const Cut seen{4.0, 4000.0, 2.0};
    const Cut cut = cut_seen_aslant(seen, {0.5, 0.0}, 2.0);
    CHECK(cut.length_mm == Approx(4.0 + 2.0 * 0.5).epsilon(0.001));
    CHECK(cut.depth_mm / cut.length_mm == Approx(seen.depth_mm / seen.length_mm));
}

TEST_CASE("a cut's sides that run along the edge are round, and the edge itself is moved as much") {
    // Almost no cut: what the sides and the edge seem moved inward and outward is one and the same.
    const Cut cut = cut_seen_aslant({4000.0, 1.0, 2000.0}, {0.0, 0.5}, 2.0);
    CHECK(cut.depth_mm == Approx(1.0).epsilon(0.001));
}

TEST_CASE("a second nick is told of, the deeper one is measured") {
    const WebCells cells = web_cells(painted([](Strip& strip) {
        cut(strip, -1.0, 50.0, 4.0, 2.0);
        cut(strip, 1.0, 150.0, 5.0, 5.0);
    }));
    const NickSearch search = find_nick(cells, from_above);
    REQUIRE(search.deepest);
    CHECK(search.others == 1);
    CHECK(search.deepest->side == 1.0);
}

TEST_CASE("webbing of the bench's own colour cannot be judged for nicks") {
    CHECK_FALSE(find_nick(web_cells(painted([](Strip&) {}, bench_colour)), from_above).can_tell);
}

TEST_CASE("stitch rows and missing stitches are counted") {
    const WebCells cells = web_cells(painted([](Strip& strip) {
        stitch(strip, 80.0);
        stitch(strip, 87.0, -1.0, 3.0);
    }));
    const StitchSearch search = find_stitches(cells);
    REQUIRE(search.rows.size() == 2);
    CHECK(search.rows[0].plain);
    CHECK(search.rows[1].plain);
    CHECK(search.rows[0].plain_gaps + search.rows[0].doubtful_gaps == 0);
    CHECK(search.rows[1].plain_gaps == 1);
}

TEST_CASE("the line between the edges follows the whole edge past a nick in the other") {
    constexpr double width = 20.0;
    std::vector<double> left, right;
    for (int i = 0; i < 120; ++i) {
        const double bend = 1e-4 * (i - 60) * (i - 60);
        left.push_back(bend - width / 2 + (i > 50 && i < 65 ? 4.0 : 0.0));
        right.push_back(i % 3 == 0 ? bend + width / 2 : std::numeric_limits<double>::quiet_NaN());
    }
    const auto middle = line_between(left, right, width, 20);
    for (int i = 20; i < 100; ++i)
        CHECK(middle[static_cast<std::size_t>(i)] == Approx(1e-4 * (i - 60) * (i - 60)).margin(0.03));
}
