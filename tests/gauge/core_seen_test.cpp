// SPDX-License-Identifier: Apache-2.0
#include "gauge/core_seen.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <iostream>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <random>
#include <string>

#include "gauge/colour.h"
#include "gauge/core_rim.h"

namespace {

using frayhold::gauge::CoreSeen;
using frayhold::gauge::find_core;
using frayhold::gauge::RopeStrip;

// Drawn strips: linear reflectances, blue green red. Everything is laid over the sheath by a weight from 0
// to 1.
const cv::Vec3f red(0.03F, 0.05F, 0.40F);
const cv::Vec3f black(0.03F, 0.03F, 0.025F);
const cv::Vec3f grey(0.26F, 0.27F, 0.27F);
const cv::Vec3f off_white(0.68F, 0.72F, 0.74F);
const cv::Vec3f core_white(0.70F, 0.75F, 0.78F);
const cv::Vec3f yellow(0.03F, 0.40F, 0.55F);
const cv::Vec3f bench(0.20F, 0.26F, 0.30F);
const cv::Vec3f purple(0.26F, 0.07F, 0.14F);
const cv::Vec3f tan_wood(0.29F, 0.51F, 0.69F);
const cv::Vec3f blue(0.43F, 0.16F, 0.03F);
constexpr double paper = 0.85;

struct Drawing {
    double mm_per_px = 0.1;
    double length_mm = 160.0;
    double width_mm = 11.0;
    cv::Vec3f sheath = red;
    cv::Vec3f tracer = black;
    bool tracers = true;
    cv::Vec3f around = bench;
    double light = 0.7;       // reaching the rope's upper side
    double light_fall = 0.0;  // how much of it is lost from one end to the other
    // Laid over the sheath at (along, across), in mm from the strip's start and from the rope's axis.
    std::function<float(double, double)> core;
    std::function<float(double, double)> fluff;
    std::function<float(double, double)> sheen;
};

double smooth(double t) {
    return std::clamp(t, 0.0, 1.0);
}

RopeStrip drawn(const Drawing& drawing, unsigned seed = 1) {
    RopeStrip strip;
    strip.mm_per_px = drawing.mm_per_px;
    strip.white = paper * drawing.light;
    const int rows = static_cast<int>(drawing.length_mm / drawing.mm_per_px);
    const int half = static_cast<int>(0.8 * drawing.width_mm / drawing.mm_per_px);
    const double radius = drawing.width_mm / 2;
    cv::Mat linear(rows, 2 * half + 1, CV_32FC3);
    std::mt19937 random(seed);
    std::normal_distribution<float> noise(0.0F, 1.0F);
    std::uniform_real_distribution<float> even(0.0F, 1.0F);
    for (int row = 0; row < rows; ++row) {
        const double along = row * drawing.mm_per_px;
        const auto light =
            static_cast<float>(drawing.light * (1.0 - drawing.light_fall * along / drawing.length_mm));
        for (int column = 0; column < linear.cols; ++column) {
            const double across = (column - half) * drawing.mm_per_px;
            auto& pixel = linear.at<cv::Vec3f>(row, column);
            if (std::abs(across) >= radius) {
                pixel = light * drawing.around;
                continue;
            }
            // Yarns on two helices, one over the other by turns; every twelfth of one helix is a tracer.
            const double angle = std::asin(across / radius);
            const double u = 16 * angle / (2 * std::numbers::pi) + 16 * along / 44.0;
            const double v = 16 * angle / (2 * std::numbers::pi) - 16 * along / 44.0;
            const bool first = (static_cast<int>(std::floor(u)) + static_cast<int>(std::floor(v))) % 2 == 0;
            const double over = first ? u - std::floor(u) : v - std::floor(v);
            const auto relief =
                static_cast<float>(0.55 + 0.45 * std::sqrt(std::max(0.0, 1 - std::pow(2 * over - 1, 2))));
            const bool is_tracer =
                drawing.tracers && first && static_cast<int>(std::floor(u) + 120) % 12 == 0;
            const cv::Vec3f yarn = relief * (is_tracer ? drawing.tracer : drawing.sheath);
            pixel = yarn;
            if (drawing.fluff) {
                // Loose fibres: specks of the sheath's own paler colour, each a little white.
                const float weight = drawing.fluff(along, across) * (0.6F + 0.4F * even(random));
                pixel = (1 - weight) * pixel + weight * (0.75F * drawing.sheath + 0.25F * off_white);
            }
            if (drawing.core) {
                // Bundles along the rope, dark in their grooves.
                const double bundle = 5.0 * across / radius + 0.02 * along;
                const double in_bundle = 2 * (bundle - std::floor(bundle)) - 1;
                const auto shade = static_cast<float>(0.5 + 0.5 * std::sqrt(1 - std::pow(in_bundle, 4)));
                const float weight = drawing.core(along, across);
                pixel = (1 - weight) * pixel + weight * shade * core_white;
            }
            const auto limb = static_cast<float>(0.35 + 0.65 * std::cos(angle));
            pixel = light * limb * pixel;
            if (drawing.sheen) pixel += cv::Vec3f::all(light * drawing.sheen(along, across));
        }
        strip.left.push_back(half - radius / drawing.mm_per_px);
        strip.right.push_back(half + radius / drawing.mm_per_px);
    }
    cv::GaussianBlur(linear, linear, {}, 0.12 / drawing.mm_per_px);
    strip.bgr.create(linear.size(), CV_8UC3);
    for (int row = 0; row < rows; ++row)
        for (int column = 0; column < linear.cols; ++column)
            for (int channel = 0; channel < 3; ++channel) {
                const float value =
                    std::max(0.0F, linear.at<cv::Vec3f>(row, column)[channel] + 0.003F * noise(random));
                const double srgb = value <= 0.0031308F
                                        ? 12.92 * static_cast<double>(value)
                                        : 1.055 * std::pow(static_cast<double>(value), 1 / 2.4) - 0.055;
                strip.bgr.at<cv::Vec3b>(row, column)[channel] = cv::saturate_cast<unsigned char>(255 * srgb);
            }
    return strip;
}

// An ellipse with a ragged but sharp rim; its area is that of the even ellipse to first order.
std::function<float(double, double)> window(double along, double across, double half_length,
                                            double half_width) {
    return [=](double s, double q) {
        const double u = (s - along) / half_length;
        const double v = (q - across) / half_width;
        const double rim = 1.0 + 0.08 * std::cos(5 * std::atan2(v, u));
        return std::hypot(u, v) < rim ? 1.0F : 0.0F;
    };
}

// Area of the window as drawn, by counting on a fine grid.
double area_of(const std::function<float(double, double)>& weight, double length_mm, double width_mm) {
    constexpr double step = 0.05;
    double area = 0.0;
    for (double s = 0; s < length_mm; s += step)
        for (double q = -width_mm / 2; q < width_mm / 2; q += step)
            if (weight(s, q) > 0.5F) area += step * step;
    return area;
}

double u_of(const std::vector<frayhold::gauge::BudgetLine>& budget) {
    double u = 0.0;
    for (const auto& line : budget) u = std::hypot(u, line.u);
    return u;
}

TEST_CASE("A window of core is found with its area and length") {
    Drawing drawing;
    drawing.core = window(80.0, 1.0, 9.0, 2.6);
    const CoreSeen seen = find_core(drawn(drawing));
    REQUIRE(seen.verdict == CoreSeen::Verdict::found);
    CHECK(seen.remark.empty());
    REQUIRE(seen.outlines.size() == 1);
    const double truth = area_of(drawing.core, drawing.length_mm, drawing.width_mm);
    CHECK(seen.area_mm2 == Approx(truth).margin(2 * u_of(seen.area_budget)));
    CHECK(seen.length_mm == Approx(18.0).margin(2 * u_of(seen.length_budget) + 1.5));
    CHECK(u_of(seen.area_budget) < 0.1 * truth);

    // The mask and the outline lie where the window was drawn.
    REQUIRE(seen.mask.type() == CV_8U);
    CHECK(cv::countNonZero(seen.mask) * 0.01 == Approx(seen.area_mm2).epsilon(0.01));
    const cv::Moments moments = cv::moments(seen.mask, true);
    CHECK(moments.m01 / moments.m00 * 0.1 == Approx(80.0).margin(0.5));
    const double axis = (seen.mask.cols - 1) / 2.0;
    CHECK((moments.m10 / moments.m00 - axis) * 0.1 == Approx(1.0).margin(0.3));
    for (const cv::Point2d& p : seen.outlines.front()) CHECK(std::abs(p.y * 0.1 - 80.0) < 11.0);
}

TEST_CASE("Sound rope shows no core, whatever its colours, and the person is still told to look") {
    for (const cv::Vec3f& sheath : {red, black, grey, yellow})
        for (const cv::Vec3f& tracer : {black, yellow, red}) {
            Drawing drawing;
            drawing.sheath = sheath;
            drawing.tracer = tracer;
            const CoreSeen seen = find_core(drawn(drawing));
            CHECK(seen.verdict == CoreSeen::Verdict::none_found);
            CHECK(seen.remark == "no core seen by colour: look and feel all the same");
            CHECK(seen.mask.empty());
            CHECK(seen.area_budget.empty());
        }
}

TEST_CASE("Core is found in every dyed sheath") {
    for (const cv::Vec3f& sheath : {red, black, grey, yellow}) {
        Drawing drawing;
        drawing.sheath = sheath;
        drawing.tracer = sheath == yellow ? red : yellow;
        drawing.core = window(60.0, -1.0, 8.0, 2.4);
        const CoreSeen seen = find_core(drawn(drawing));
        CAPTURE(sheath, seen.remark);
        REQUIRE(seen.verdict == CoreSeen::Verdict::found);
        const double truth = area_of(drawing.core, drawing.length_mm, drawing.width_mm);
        CHECK(seen.area_mm2 == Approx(truth).epsilon(0.15));
    }
}

TEST_CASE("In a white sheath core can't be told by colour") {
    Drawing drawing;
    drawing.sheath = off_white;
    drawing.core = window(80.0, 0.0, 9.0, 3.0);
    const CoreSeen seen = find_core(drawn(drawing));
    CHECK(seen.verdict == CoreSeen::Verdict::cannot_tell);
    CHECK(seen.remark == "cannot tell core by colour, the sheath is as pale as core: look and feel");
}

TEST_CASE("White tracers are not core, and core among them is told by its size") {
    Drawing drawing;
    drawing.tracer = off_white;
    CHECK(find_core(drawn(drawing)).verdict == CoreSeen::Verdict::none_found);
    drawing.core = window(80.0, 0.5, 9.0, 2.6);
    const CoreSeen seen = find_core(drawn(drawing));
    REQUIRE(seen.verdict == CoreSeen::Verdict::found);
    CHECK(seen.outlines.size() == 1);
    CHECK(seen.area_mm2 == Approx(area_of(drawing.core, 160, 11)).epsilon(0.2));
}

TEST_CASE("Fluffed sheath fibres are paler but not core") {
    for (const cv::Vec3f& sheath : {red, black, grey}) {
        Drawing drawing;
        drawing.sheath = sheath;
        drawing.fluff = [](double s, double) {
            return static_cast<float>(0.9 * smooth((12.0 - std::abs(s - 80.0)) / 3.0));
        };
        CHECK(find_core(drawn(drawing)).verdict == CoreSeen::Verdict::none_found);
        drawing.core = window(80.0, 0.0, 6.0, 2.2);
        const CoreSeen seen = find_core(drawn(drawing));
        CAPTURE(sheath, seen.remark);
        REQUIRE(seen.verdict == CoreSeen::Verdict::found);
        CHECK(seen.area_mm2 == Approx(area_of(drawing.core, 160, 11)).epsilon(0.2));
    }
}

TEST_CASE("The sheen of a glazed length is not core") {
    Drawing drawing;
    drawing.sheen = [](double s, double q) {
        return static_cast<float>(0.6 * smooth((15.0 - std::abs(s - 80.0)) / 8.0) *
                                  std::exp(-std::pow((q - 1.0) / 1.2, 2)));
    };
    CHECK(find_core(drawn(drawing)).verdict != CoreSeen::Verdict::found);
}

TEST_CASE("Pale bench within a misplaced edge is not core, core at the edge is") {
    Drawing drawing;
    drawing.length_mm = 240.0;
    RopeStrip strip = drawn(drawing);
    // Off-white bench to the right of the rope, and the edge placed in it over a stretch.
    const auto pale = [&](double share) {
        return cv::Vec3b::all(cv::saturate_cast<uchar>(255 * std::pow(share * drawing.light, 1 / 2.4)));
    };
    for (int row = 0; row < strip.bgr.rows; ++row) {
        const auto edge = static_cast<std::size_t>(row);
        for (int column = static_cast<int>(strip.right[edge]); column < strip.bgr.cols; ++column)
            strip.bgr.at<cv::Vec3b>(row, column) = pale(0.7);
        if (row > 1000 && row < 1300) {
            strip.right[edge] += 18;
            strip.left[edge] += 18;
        }
    }
    const CoreSeen none = find_core(strip);
    CHECK(none.verdict == CoreSeen::Verdict::cannot_tell);
    CHECK(none.remark.find("goes on beyond the rope's edge") != std::string::npos);

    drawing.core = window(120.0, 3.6, 10.0, 1.9);
    const CoreSeen core = find_core(drawn(drawing));
    CHECK(core.verdict == CoreSeen::Verdict::found);
}

TEST_CASE("Light that falls off along the rope changes nothing") {
    Drawing drawing;
    drawing.light_fall = 0.65;
    CHECK(find_core(drawn(drawing)).verdict == CoreSeen::Verdict::none_found);
    drawing.core = window(60.0, 0.0, 8.0, 2.5);
    const CoreSeen seen = find_core(drawn(drawing));
    REQUIRE(seen.verdict == CoreSeen::Verdict::found);
    CHECK(seen.area_mm2 == Approx(area_of(drawing.core, 160, 11)).epsilon(0.15));
}

TEST_CASE("Too little undamaged rope can't teach the sheath's colours") {
    Drawing drawing;
    drawing.length_mm = 30.0;
    const CoreSeen seen = find_core(drawn(drawing));
    CHECK(seen.verdict == CoreSeen::Verdict::cannot_tell);
    CHECK(seen.remark ==
          "cannot tell core by colour, too little undamaged rope is in the picture: look and feel");

    drawing.length_mm = 100.0;
    RopeStrip strip = drawn(drawing);
    strip.damaged.assign(strip.left.size(), false);
    std::fill(strip.damaged.begin() + 300, strip.damaged.end(), true);
    CHECK(find_core(strip).verdict == CoreSeen::Verdict::cannot_tell);
}

TEST_CASE("Where the damage is known core is looked for there only") {
    Drawing drawing;
    drawing.core = window(80.0, 0.0, 8.0, 2.5);
    RopeStrip strip = drawn(drawing);
    strip.damaged.assign(strip.left.size(), false);
    std::fill(strip.damaged.begin() + 650, strip.damaged.begin() + 950, true);
    CHECK(find_core(strip).verdict == CoreSeen::Verdict::found);
    strip.damaged.assign(strip.left.size(), false);
    std::fill(strip.damaged.begin() + 200, strip.damaged.begin() + 400, true);
    CHECK(find_core(strip).verdict == CoreSeen::Verdict::none_found);
}

TEST_CASE("What lies over the rope is not looked at, and rows without edges are skipped") {
    Drawing drawing;
    drawing.core = window(80.0, 0.0, 8.0, 2.5);
    RopeStrip strip = drawn(drawing);
    strip.seen = cv::Mat(strip.bgr.size(), CV_8U, cv::Scalar(1));
    strip.seen.rowRange(690, 910) = 0;
    CHECK(find_core(strip).verdict == CoreSeen::Verdict::none_found);

    strip.seen.release();
    for (std::size_t row = 100; row < 200; ++row) strip.left[row] = strip.right[row] = std::nan("");
    CHECK(find_core(strip).verdict == CoreSeen::Verdict::found);
    std::fill(strip.left.begin(), strip.left.end(), std::nan(""));
    CHECK(find_core(strip).verdict == CoreSeen::Verdict::cannot_tell);
}

TEST_CASE("The finding does not hang on the strip's scale") {
    Drawing drawing;
    drawing.core = window(80.0, 0.0, 8.0, 2.5);
    const double truth = area_of(drawing.core, 160, 11);
    for (const double mm_per_px : {0.07, 0.1, 0.15, 0.2, 0.25}) {
        CAPTURE(mm_per_px);
        drawing.mm_per_px = mm_per_px;
        const CoreSeen seen = find_core(drawn(drawing));
        REQUIRE(seen.verdict == CoreSeen::Verdict::found);
        CHECK(seen.area_mm2 == Approx(truth).epsilon(0.12));
        CHECK(seen.mask.size() == drawn(drawing).bgr.size());
    }
}

TEST_CASE("The stated uncertainty of the area covers windows of many sizes and places") {
    std::mt19937 random(2);
    std::uniform_real_distribution<double> share(0.0, 1.0);
    int within = 0;
    constexpr int windows = 30;
    double worst = 0.0;
    for (int i = 0; i < windows; ++i) {
        Drawing drawing;
        drawing.sheath = i % 3 == 0 ? red : i % 3 == 1 ? black : yellow;
        drawing.tracer = i % 3 == 2 ? red : yellow;
        drawing.length_mm = 110.0;
        drawing.core = window(45.0 + 20.0 * share(random), -2.0 + 4.0 * share(random),
                              4.0 + 7.0 * share(random), 1.5 + 1.5 * share(random));
        const CoreSeen seen = find_core(drawn(drawing, static_cast<unsigned>(i)));
        REQUIRE(seen.verdict == CoreSeen::Verdict::found);
        const double error = (seen.area_mm2 - area_of(drawing.core, 110, 11)) / (2 * u_of(seen.area_budget));
        worst = std::max(worst, std::abs(error));
        if (std::abs(error) <= 1.0) ++within;
    }
    std::cout << "areas of core within U: " << within << " of " << windows << ", largest error " << worst
              << " U\n";
    CHECK(within >= 27);
}

// A window with a tip at either end, 2 mm wide where it begins.
std::function<float(double, double)> window_with_tips(double along, double half_length, double half_width,
                                                      double tip_mm) {
    return [=](double s, double q) {
        const double u = std::abs(s - along) - half_length;
        const double tip = 1.0 - u / tip_mm;
        const bool in = u < 0 ? std::abs(q) < half_width : std::abs(q) < tip;
        return in ? 1.0F : 0.0F;
    };
}

TEST_CASE("Tips of core are followed to their ends") {
    for (const cv::Vec3f& sheath : {red, black, grey}) {
        Drawing drawing;
        drawing.sheath = sheath;
        drawing.core = window_with_tips(80.0, 8.0, 2.2, 5.0);
        const CoreSeen seen = find_core(drawn(drawing));
        CAPTURE(sheath, seen.remark);
        REQUIRE(seen.verdict == CoreSeen::Verdict::found);
        CHECK(seen.length_mm == Approx(26.0).margin(2 * u_of(seen.length_budget)));
    }
}

TEST_CASE("Core at a limb that the edges' search lost is measured out to where the limb runs") {
    Drawing drawing;
    drawing.core = window(80.0, 4.2, 9.0, 2.6);
    RopeStrip strip = drawn(drawing);
    const double truth = area_of(drawing.core, 160, 11);
    strip.outer_left = strip.left;
    strip.outer_right = strip.right;
    for (std::size_t row = 690; row < 910; ++row) strip.right[row] -= 6;
    const double out_to_limb = find_core(strip).area_mm2;
    strip.outer_right = strip.right;
    CHECK(std::abs(out_to_limb - truth) < std::abs(find_core(strip).area_mm2 - truth));
    CHECK(out_to_limb == Approx(truth).epsilon(0.1));
}

TEST_CASE("What looks pale in one place and may be core is named with its place, not passed over") {
    // Hardly larger than the white tracers, but thicker.
    Drawing drawing;
    drawing.tracer = off_white;
    drawing.core = window(80.0, 0.5, 2.0, 1.6);
    const CoreSeen seen = find_core(drawn(drawing));
    REQUIRE(seen.verdict == CoreSeen::Verdict::cannot_tell);
    CHECK(seen.remark.find("may be core, a sheen") != std::string::npos);
    REQUIRE(seen.remark_rows);
    CHECK(seen.remark_rows->first * drawing.mm_per_px == Approx(78.0).margin(2.0));
    CHECK(seen.remark_rows->second * drawing.mm_per_px == Approx(82.0).margin(2.0));
    CHECK(seen.area_budget.empty());
}

TEST_CASE("Core in little more than half of the paper's light is named with its place") {
    Drawing drawing;
    drawing.core = window(80.0, 0.0, 7.0, 2.0);
    RopeStrip strip = drawn(drawing);
    REQUIRE(find_core(strip).verdict == CoreSeen::Verdict::found);
    strip.white *= 1.8;
    const CoreSeen seen = find_core(strip);
    CHECK(seen.verdict == CoreSeen::Verdict::cannot_tell);
    CHECK(seen.remark.find("what looks pale there may be core") != std::string::npos);
    REQUIRE(seen.remark_rows);
    CHECK(seen.remark_rows->first * strip.mm_per_px == Approx(73.0).margin(2.0));
    CHECK(seen.remark_rows->second * strip.mm_per_px == Approx(87.0).margin(2.0));
}

TEST_CASE("Sheath that only evening out made light is not core") {
    // A dark bench, and the right edge taken to lie out on it along most of the rope: what is sheath at the
    // edge where it was placed well is as far out as bench elsewhere.
    Drawing drawing;
    drawing.sheath = grey;
    drawing.tracer = blue;
    drawing.around = 0.05F * bench;
    drawing.length_mm = 240.0;
    RopeStrip strip = drawn(drawing);
    constexpr double out_mm = 1.8;
    for (std::size_t row = 0; row < strip.right.size(); ++row) {
        const double along = static_cast<double>(row) * drawing.mm_per_px;
        if (along < 100.0 || along > 130.0) strip.right[row] += out_mm / drawing.mm_per_px;
    }
    CHECK(find_core(strip).verdict != CoreSeen::Verdict::found);

    // Core in such a picture is told all the same.
    drawing.core = window(180.0, 0.0, 9.0, 2.6);
    RopeStrip torn = drawn(drawing);
    torn.right = strip.right;
    CHECK(find_core(torn).verdict == CoreSeen::Verdict::found);
}

TEST_CASE("A bench whose light mixes with the sheath's to that of core is not core") {
    // Between core and limb lies a strip of sheath.
    Drawing drawing;
    drawing.sheath = purple;
    drawing.tracers = false;
    drawing.around = tan_wood;
    drawing.core = [](double s, double q) {
        return std::abs(s - 80.0) < 10.0 && q > 1.0 && q < 5.0 ? 1.0F : 0.0F;
    };
    const CoreSeen seen = find_core(drawn(drawing));
    REQUIRE(seen.verdict == CoreSeen::Verdict::found);
    CHECK(seen.area_mm2 == Approx(80.0).epsilon(0.06));
    CHECK(seen.length_mm == Approx(20.0).margin(0.5));
}

TEST_CASE("Sheath between core and a dark tracer is no core") {
    // Linear light of a grey sheath, a patch of core 3 by 10 mm and a dark yarn 0.5 mm beside it.
    constexpr int rows = 300, columns = 120;
    cv::Mat light(rows, columns, CV_32FC3, cv::Scalar::all(0.32));
    const cv::Rect core(40, 100, 30, 100), tracer(75, 90, 30, 120);
    light(core) = cv::Scalar::all(0.6);
    light(tracer) = cv::Scalar::all(0.02);
    cv::GaussianBlur(light, light, {}, 1.2);
    RopeStrip strip;
    strip.mm_per_px = 0.1;
    strip.bgr.create(rows, columns, CV_8UC3);
    for (int row = 0; row < rows; ++row)
        for (int column = 0; column < columns; ++column)
            strip.bgr.at<cv::Vec3b>(row, column) = cv::Vec3b::all(cv::saturate_cast<uchar>(
                255 *
                frayhold::gauge::srgb_of_linear(static_cast<double>(light.at<cv::Vec3f>(row, column)[0]))));
    strip.left.assign(rows, 0.0);
    strip.right.assign(rows, columns - 1.0);
    cv::Mat region = cv::Mat::zeros(rows, columns, CV_8U);
    region(core) = 255;
    const std::array choices{frayhold::gauge::RimChoice{0.8}};
    const frayhold::gauge::CoreRim rim = frayhold::gauge::core_rims(strip, region, choices).front();
    CHECK(rim.area_mm2 == Approx(30.0).epsilon(0.1));
    CHECK(rim.length_mm == Approx(10.0).margin(0.3));
}

double area_within(const std::vector<std::vector<cv::Point2d>>& outlines, double mm_per_px) {
    double area = 0.0;
    for (const auto& outline : outlines) {
        const std::vector<cv::Point2f> points(outline.begin(), outline.end());
        area += cv::contourArea(points) * mm_per_px * mm_per_px;
    }
    return area;
}

TEST_CASE("On a bench of core's colour, how far out core goes lies between two outlines") {
    Drawing drawing;
    drawing.core = window(80.0, 4.2, 9.0, 2.6);
    drawing.around = blue;
    RopeStrip strip = drawn(drawing);
    strip.outer_left = strip.left;
    strip.outer_right = strip.right;
    CHECK(find_core(strip).least_outlines.empty());

    drawing.around = 0.5F * core_white;
    strip = drawn(drawing);
    strip.outer_left = strip.left;
    strip.outer_right = strip.right;
    // The edge is taken to run inside, along the groove between two bundles.
    for (std::size_t row = 690; row < 910; ++row) strip.right[row] -= 8;
    const CoreSeen seen = find_core(strip);
    REQUIRE(seen.verdict == CoreSeen::Verdict::found);
    const double truth = area_of(drawing.core, 160, 11);
    CHECK(area_within(seen.least_outlines, drawing.mm_per_px) < truth);
    CHECK(area_within(seen.most_outlines, drawing.mm_per_px) > 0.97 * truth);
}

}  // namespace
