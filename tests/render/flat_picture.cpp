// SPDX-License-Identifier: Apache-2.0
#include "render/flat_picture.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"
#include "render/random.h"
#include "render/srgb.h"

namespace frayhold::render {
namespace {

// Draws on one raster in millimetres of the flat thing's own frame.
class Printer {
  public:
    Printer(cv::Mat& raster, double per_mm)
        : raster_(raster), per_mm_(per_mm), laid_(raster.size(), CV_32FC4, cv::Scalar::all(0)) {}

    // Rectangles with exact area coverage of each raster cell; neighbours join without a seam. Seen after
    // settle().
    void rectangle(cv::Rect2d rect_mm, Colour colour) {
        const double x0 = rect_mm.x * per_mm_;
        const double x1 = (rect_mm.x + rect_mm.width) * per_mm_;
        const double y0 = rect_mm.y * per_mm_;
        const double y1 = (rect_mm.y + rect_mm.height) * per_mm_;
        const auto share = [](double from, double to, int cell) {
            return std::max(0.0, std::min(to, cell + 1.0) - std::max(from, static_cast<double>(cell)));
        };
        for (int y = std::max(0, static_cast<int>(y0));
             y < std::min(raster_.rows, static_cast<int>(std::ceil(y1))); ++y) {
            auto* row = laid_.ptr<cv::Vec4f>(y);
            const double high = share(y0, y1, y);
            for (int x = std::max(0, static_cast<int>(x0));
                 x < std::min(raster_.cols, static_cast<int>(std::ceil(x1))); ++x) {
                const auto a = static_cast<float>(high * share(x0, x1, x));
                row[x] += a * cv::Vec4f(colour.r, colour.g, colour.b, 1.F);
            }
        }
    }
    void settle() {
        for (int y = 0; y < raster_.rows; ++y) {
            auto* row = raster_.ptr<cv::Vec3f>(y);
            auto* laid = laid_.ptr<cv::Vec4f>(y);
            for (int x = 0; x < raster_.cols; ++x) {
                const float a = laid[x][3];
                if (a <= 0.F) continue;
                const float cover = std::min(a, 1.F);
                row[x] = (1.F - cover) * row[x] + (cover / a) * cv::Vec3f(laid[x][0], laid[x][1], laid[x][2]);
            }
        }
        laid_.setTo(cv::Scalar::all(0));
    }

    void text(const std::string& words, double x, double baseline, double cap_mm, Colour colour) {
        cv::Mat mask = blank();
        const double scale = cap_mm * per_mm_ / 21.0;  // Hershey simplex: capitals 21 units high
        const int thick = std::max(1, static_cast<int>(std::lround(0.13 * cap_mm * per_mm_)));
        cv::putText(mask, words, {static_cast<int>(x * per_mm_), static_cast<int>(baseline * per_mm_)},
                    cv::FONT_HERSHEY_SIMPLEX, scale, cv::Scalar(255), thick, cv::LINE_AA);
        lay(mask, colour, 1.F);
    }
    void disc(double x, double y, double radius_mm, Colour colour, float strength = 1.F) {
        cv::Mat mask = blank();
        cv::circle(mask, fixed(x, y), static_cast<int>(radius_mm * per_mm_ * 16), cv::Scalar(255), cv::FILLED,
                   cv::LINE_AA, 4);
        lay(mask, colour, strength);
    }
    void stroke(Vec2 from, Vec2 to, double width_mm, Colour colour, float strength = 1.F) {
        cv::Mat mask = blank();
        cv::line(mask, fixed(from.x, from.y), fixed(to.x, to.y), cv::Scalar(255),
                 std::max(1, static_cast<int>(std::lround(width_mm * per_mm_))), cv::LINE_AA, 4);
        lay(mask, colour, strength);
    }
    // Rows of small strokes of word lengths, as print looks from too far to be read.
    void fine_print(cv::Rect2d area, double letter_mm, Random& random, Colour colour) {
        for (double y = area.y; y + letter_mm <= area.y + area.height; y += 1.9 * letter_mm) {
            double x = area.x;
            const double end = area.x + area.width * (random.chance(0.2) ? random.uniform(0.2, 0.8) : 1.0);
            while (x < end) {
                const int letters = random.integer(2, 9);
                for (int i = 0; i < letters && x < end; ++i) {
                    const double w = letter_mm * random.uniform(0.25, 0.5);
                    const double h = letter_mm * (random.chance(0.3) ? 1.0 : 0.68);
                    rectangle({x, y + letter_mm - h, 0.16 * letter_mm, h}, colour);
                    rectangle({x, y + letter_mm * random.uniform(0.3, 0.9), w, 0.14 * letter_mm}, colour);
                    x += w + 0.14 * letter_mm;
                }
                x += 0.45 * letter_mm;
            }
        }
        settle();
    }

  private:
    [[nodiscard]] cv::Mat blank() const { return {raster_.size(), CV_8UC1, cv::Scalar(0)}; }
    [[nodiscard]] cv::Point fixed(double x, double y) const {
        return {static_cast<int>(std::lround(x * per_mm_ * 16)),
                static_cast<int>(std::lround(y * per_mm_ * 16))};
    }
    void lay(const cv::Mat& mask, Colour colour, float strength) {
        for (int y = 0; y < raster_.rows; ++y) {
            auto* row = raster_.ptr<cv::Vec3f>(y);
            const auto* m = mask.ptr<uchar>(y);
            for (int x = 0; x < raster_.cols; ++x) {
                if (m[x] == 0) continue;
                const float a = strength * static_cast<float>(m[x]) / 255.F;
                row[x] = (1.F - a) * row[x] + a * cv::Vec3f(colour.r, colour.g, colour.b);
            }
        }
    }

    cv::Mat& raster_;
    double per_mm_;
    cv::Mat laid_;
};

void print_reference_card(Printer& printer, const Flat& flat) {
    for (const gauge::CardPatch& patch : gauge::card_patches()) {
        // A printer's grey: the sRGB value as a share of the way from ink to paper.
        const float share = linear_of_srgb(static_cast<float>(patch.grey) / 255.F);
        printer.rectangle(patch.rect_mm, mix(flat.ink, flat.paper, share));
    }
    printer.settle();
    const cv::Rect2d& number = gauge::hold_number_area_mm;
    const cv::Rect2d& name = gauge::name_area_mm;
    if (!flat.lines.empty()) printer.text(flat.lines[0], number.x + 1.0, number.y + 9.0, 4.4, flat.ink);
    if (flat.lines.size() > 1) printer.text(flat.lines[1], name.x + 0.5, name.y + 3.0, 1.5, flat.ink);
    if (flat.lines.size() > 2) printer.text(flat.lines[2], name.x + 0.5, name.y + 6.2, 1.25, flat.ink);
}

Colour any_colour(Random& random, double darkest, double palest) {
    const double level = random.uniform(darkest, palest);
    const double a = random.uniform(0.35, 1.0);
    const double b = random.uniform(0.35, 1.0);
    const double c = random.uniform(0.35, 1.0);
    const double most = std::max({a, b, c});
    return {static_cast<float>(level * a / most), static_cast<float>(level * b / most),
            static_cast<float>(level * c / most)};
}

// A membership card as anyone carries: coloured shapes, a name, a number.
void print_plain_card(Printer& printer, const Flat& flat, Random& random) {
    const int shapes = random.integer(1, 4);
    for (int i = 0; i < shapes; ++i) {
        const Colour colour = any_colour(random, 0.03, 0.8);
        const double x = random.uniform(0.0, flat.width_mm);
        const double y = random.uniform(0.0, flat.height_mm);
        const double size = random.uniform(6.0, 30.0);
        if (random.chance(0.5)) {
            printer.disc(x, y, size, colour);
        } else {
            printer.rectangle({0.0, y, flat.width_mm, 0.5 * size}, colour);
            printer.settle();
        }
    }
    for (std::size_t i = 0; i < flat.lines.size(); ++i)
        printer.text(flat.lines[i], 6.0, 14.0 + 9.0 * static_cast<double>(i), i == 0 ? 4.4 : 3.0, flat.ink);
}

void print_book(Printer& printer, const Flat& flat, Random& random) {
    const Colour band = any_colour(random, 0.05, 0.7);
    printer.rectangle({0.0, 0.16 * flat.height_mm, flat.width_mm, 0.24 * flat.height_mm}, band);
    printer.rectangle({0.0, 0.0, 7.0, flat.height_mm}, mix(flat.paper, {0.02F, 0.02F, 0.02F}, 0.3F));
    printer.settle();
    printer.disc(0.55 * flat.width_mm, 0.68 * flat.height_mm, 0.22 * flat.width_mm,
                 any_colour(random, 0.1, 0.8));
    if (!flat.lines.empty())
        printer.text(flat.lines[0], 0.12 * flat.width_mm, 0.32 * flat.height_mm, 0.055 * flat.width_mm,
                     flat.ink);
}

void print_slab(Printer& printer, const Flat& flat, Random& random) {
    printer.rectangle({1.6, 1.6, flat.width_mm - 3.2, flat.height_mm - 3.2}, {0.012F, 0.013F, 0.016F});
    printer.settle();
    printer.disc(0.5 * flat.width_mm, 4.5, 1.4, {0.004F, 0.004F, 0.006F});
    // What a dark glass shows of the room: one pale streak.
    const double at = random.uniform(0.1, 0.6) * flat.width_mm;
    printer.stroke({at, flat.height_mm}, {at + 0.35 * flat.width_mm, 0.0}, 9.0, {0.06F, 0.065F, 0.075F},
                   0.7F);
}

void print_business_card(Printer& printer, const Flat& flat, Random& random) {
    const Colour colour = any_colour(random, 0.05, 0.5);
    if (random.chance(0.5)) {
        printer.rectangle({0.0, 0.0, 0.24 * flat.width_mm, flat.height_mm}, colour);
        printer.settle();
    }
    printer.disc(0.13 * flat.width_mm, 0.3 * flat.height_mm, 6.0, any_colour(random, 0.05, 0.6));
    for (std::size_t i = 0; i < flat.lines.size(); ++i)
        printer.text(flat.lines[i], 0.3 * flat.width_mm, 18.0 + 8.0 * static_cast<double>(i),
                     i == 0 ? 3.6 : 2.2, flat.ink);
}

void print_envelope(Printer& printer, const Flat& flat) {
    const Colour fold = mix(flat.paper, {0.1F, 0.1F, 0.1F}, 0.35F);
    const double w = flat.width_mm;
    const double h = flat.height_mm;
    printer.stroke({0.0, 0.0}, {0.5 * w, 0.55 * h}, 0.5, fold);
    printer.stroke({w, 0.0}, {0.5 * w, 0.55 * h}, 0.5, fold);
    printer.stroke({0.0, h}, {0.42 * w, 0.46 * h}, 0.35, fold, 0.6F);
    printer.stroke({w, h}, {0.58 * w, 0.46 * h}, 0.35, fold, 0.6F);
}

void print_steel_rule(Printer& printer, const Flat& flat) {
    for (int mm = 0; mm <= static_cast<int>(flat.width_mm) - 10; ++mm) {
        const double length = mm % 10 == 0 ? 6.5 : mm % 5 == 0 ? 5.0 : 3.2;
        printer.rectangle({5.0 + mm - 0.09, 0.0, 0.18, length}, flat.ink);
        if (mm % 2 == 0)
            printer.rectangle({5.0 + mm - 0.09, flat.height_mm - 0.7 * length, 0.18, 0.7 * length}, flat.ink);
    }
    printer.settle();
    for (int cm = 1; cm <= static_cast<int>(flat.width_mm / 10) - 1; ++cm)
        printer.text(std::to_string(cm), 5.0 + 10 * cm - 1.3, 10.6, 2.6, flat.ink);
    printer.disc(flat.width_mm - 6.0, 0.5 * flat.height_mm, 2.4, {0.02F, 0.02F, 0.02F});
}

// Lines of lettering that share the height.
void print_label(Printer& printer, const Flat& flat) {
    const double pitch =
        (flat.height_mm - 1.5) / static_cast<double>(std::max<std::size_t>(flat.lines.size(), 1));
    for (std::size_t i = 0; i < flat.lines.size(); ++i)
        printer.text(flat.lines[i], 4.0, 0.75 + pitch * (static_cast<double>(i) + 0.8), 0.58 * pitch,
                     flat.ink);
}

}  // namespace

std::array<Vec3, 4> corners_of(const Flat& flat) {
    const Vec2 x = heading(flat.heading);
    const Vec2 y = -1.0 * left_of(x);
    const auto at = [&](double u, double v) {
        const Vec2 p = flat.middle + (u * flat.width_mm / 2) * x + (v * flat.height_mm / 2) * y;
        return Vec3{p.x, p.y, 0.0};
    };
    return {at(-1, -1), at(1, -1), at(1, 1), at(-1, 1)};
}

Vec2 on_flat(const Flat& flat, Vec2 bench_point) {
    const Vec2 x = heading(flat.heading);
    const Vec2 d = bench_point - flat.middle;
    return {dot(d, x) + flat.width_mm / 2, cross(d, x) + flat.height_mm / 2};
}

FlatPicture::FlatPicture(const Flat& flat) : flat_(flat), axis_(heading(flat.heading)) {
    per_mm_ = flat.width_mm * flat.height_mm < 8000.0 ? 12.0 : 6.0;
    raster_.create(static_cast<int>(std::ceil(flat.height_mm * per_mm_)) + 1,
                   static_cast<int>(std::ceil(flat.width_mm * per_mm_)) + 1, CV_32FC3);
    raster_.setTo(cv::Scalar(static_cast<double>(flat.paper.r), static_cast<double>(flat.paper.g),
                             static_cast<double>(flat.paper.b)));
    Random random(flat.print_seed);
    Printer printer(raster_, per_mm_);
    switch (flat.sort) {
        case Flat::Sort::printed_card:
            print_reference_card(printer, flat);
            break;
        case Flat::Sort::plain_card:
            print_plain_card(printer, flat, random);
            break;
        case Flat::Sort::book:
            print_book(printer, flat, random);
            break;
        case Flat::Sort::slab:
            print_slab(printer, flat, random);
            break;
        case Flat::Sort::paper:
            printer.fine_print({12.0, 12.0, flat.width_mm - 24.0, flat.height_mm - 24.0}, 2.4, random,
                               flat.ink);
            break;
        case Flat::Sort::envelope:
            print_envelope(printer, flat);
            break;
        case Flat::Sort::business_card:
            print_business_card(printer, flat, random);
            break;
        case Flat::Sort::steel_rule:
            print_steel_rule(printer, flat);
            break;
        case Flat::Sort::label:
            print_label(printer, flat);
            break;
    }
    if (flat.print_blur_mm > 0.0)
        cv::GaussianBlur(raster_, raster_, cv::Size(), flat.print_blur_mm * per_mm_, 0, cv::BORDER_REPLICATE);
}

Colour FlatPicture::at(Vec2 own) const {
    const double fx = std::clamp(own.x * per_mm_ - 0.5, 0.0, raster_.cols - 1.001);
    const double fy = std::clamp(own.y * per_mm_ - 0.5, 0.0, raster_.rows - 1.001);
    const int x = static_cast<int>(fx);
    const int y = static_cast<int>(fy);
    const auto tx = static_cast<float>(fx - x);
    const auto ty = static_cast<float>(fy - y);
    const auto* top = raster_.ptr<float>(y) + 3 * x;
    const auto* low = raster_.ptr<float>(y + 1) + 3 * x;
    const auto blend = [&](int c) {
        const float a = top[c] + tx * (top[c + 3] - top[c]);
        const float b = low[c] + tx * (low[c + 3] - low[c]);
        return a + ty * (b - a);
    };
    return {blend(0), blend(1), blend(2)};
}

}  // namespace frayhold::render
