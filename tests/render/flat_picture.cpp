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

cv::Vec3f vec(Colour c) { return {c.r, c.g, c.b}; }

// Draws a rectangle with exact area coverage of each raster cell.
void fill(cv::Mat& raster, double per_mm, cv::Rect2d rect_mm, Colour colour) {
    const double x0 = rect_mm.x * per_mm;
    const double x1 = (rect_mm.x + rect_mm.width) * per_mm;
    const double y0 = rect_mm.y * per_mm;
    const double y1 = (rect_mm.y + rect_mm.height) * per_mm;
    const auto share = [](double from, double to, int cell) {
        return std::max(0.0, std::min(to, cell + 1.0) - std::max(from, static_cast<double>(cell)));
    };
    for (int y = std::max(0, static_cast<int>(y0)); y < std::min(raster.rows, static_cast<int>(std::ceil(y1))); ++y) {
        auto* row = raster.ptr<cv::Vec3f>(y);
        const double high = share(y0, y1, y);
        for (int x = std::max(0, static_cast<int>(x0)); x < std::min(raster.cols, static_cast<int>(std::ceil(x1)));
             ++x) {
            const auto a = static_cast<float>(high * share(x0, x1, x));
            row[x] = (1.F - a) * row[x] + a * vec(colour);
        }
    }
}

// Lettering-like strokes inside an area: words of upright, slanted and level strokes.
void scribble(cv::Mat& raster, double per_mm, cv::Rect2d area, double letter_mm, Random& random, Colour ink) {
    cv::Mat mask(raster.size(), CV_8UC1, cv::Scalar(0));
    const auto at = [per_mm](double x, double y) {
        return cv::Point(static_cast<int>(x * per_mm * 16), static_cast<int>(y * per_mm * 16));
    };
    const int thick = std::max(1, static_cast<int>(std::lround(0.14 * letter_mm * per_mm)));
    for (double y = area.y + 0.2 * letter_mm; y + letter_mm <= area.y + area.height; y += 1.5 * letter_mm) {
        double x = area.x + 0.3 * letter_mm;
        const double end = area.x + area.width * random.uniform(0.5, 0.98);
        while (x + 0.6 * letter_mm < end) {
            const double w = 0.5 * letter_mm;
            const int strokes = random.integer(2, 3);
            for (int i = 0; i < strokes; ++i) {
                const double fx = random.uniform();
                const double fy = random.uniform();
                const int sort = random.integer(0, 3);
                cv::Point from = at(x + w * std::round(fx), y);
                cv::Point to = at(x + w * std::round(fx), y + letter_mm);
                if (sort == 1) {
                    from = at(x, y + 0.5 * letter_mm * std::round(2 * fy));
                    to = at(x + w, y + 0.5 * letter_mm * std::round(2 * fy));
                } else if (sort == 2) {
                    from = at(x, y);
                    to = at(x + w, y + letter_mm);
                } else if (sort == 3) {
                    from = at(x + w, y);
                    to = at(x, y + letter_mm);
                }
                cv::line(mask, from, to, cv::Scalar(255), thick, cv::LINE_AA, 4);
            }
            x += random.chance(0.18) ? 1.4 * letter_mm : 0.78 * letter_mm;
        }
    }
    for (int y = 0; y < raster.rows; ++y) {
        auto* row = raster.ptr<cv::Vec3f>(y);
        const auto* m = mask.ptr<uchar>(y);
        for (int x = 0; x < raster.cols; ++x)
            if (m[x] != 0) {
                const float a = static_cast<float>(m[x]) / 255.F;
                row[x] = (1.F - a) * row[x] + a * vec(ink);
            }
    }
}

void print_card(cv::Mat& raster, double per_mm, const Flat& flat, Random& random) {
    for (const gauge::CardPatch& patch : gauge::card_patches()) {
        // A printer's grey: sRGB value as reflectance, between ink and paper.
        const float share = linear_of_srgb(static_cast<float>(patch.grey) / 255.F);
        fill(raster, per_mm, patch.rect_mm, mix(flat.ink, flat.paper, share));
    }
    scribble(raster, per_mm, gauge::hold_number_area_mm, 5.0, random, flat.ink);
    scribble(raster, per_mm, gauge::name_area_mm, 2.2, random, flat.ink);
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

FlatPicture::FlatPicture(const Flat& flat) : flat_(flat) {
    const bool fine = flat.width_mm * flat.height_mm < 8000.0;
    per_mm_ = fine ? 20.0 : 6.0;
    raster_.create(static_cast<int>(std::ceil(flat.height_mm * per_mm_)) + 1,
                   static_cast<int>(std::ceil(flat.width_mm * per_mm_)) + 1, CV_32FC3);
    raster_.setTo(cv::Scalar(static_cast<double>(flat.paper.r), static_cast<double>(flat.paper.g),
                             static_cast<double>(flat.paper.b)));
    Random random(flat.print_seed);
    if (flat.sort == Flat::Sort::printed_card) print_card(raster_, per_mm_, flat, random);
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
    const auto* top = raster_.ptr<cv::Vec3f>(y) + x;
    const auto* low = raster_.ptr<cv::Vec3f>(y + 1) + x;
    const cv::Vec3f c = (1.F - ty) * ((1.F - tx) * top[0] + tx * top[1]) + ty * ((1.F - tx) * low[0] + tx * low[1]);
    return {c[0], c[1], c[2]};
}

}  // namespace frayhold::render
