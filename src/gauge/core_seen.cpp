// SPDX-License-Identifier: Apache-2.0
#include "gauge/core_seen.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <limits>
#include <opencv2/imgproc.hpp>
#include <utility>

#include "gauge/colour.h"
#include "gauge/palette.h"

namespace frayhold::gauge {
namespace {

using Contour = std::vector<cv::Point>;

// Nothing finer than this is looked at: a core bundle is 1 mm thick or more.
constexpr double working_mm_per_px = 0.2;
// Left out at each limb, as a share of the width: there the bench shines through loose fibres.
constexpr double limb_share = 0.06;
// A piece of rope in which a colour is either there or not, and how many of them are needed to know the
// sheath.
constexpr double piece_mm = 10.0;
constexpr std::size_t least_pieces = 4;
// A colour is the sheath's when it fills this share of a piece, in this share of the pieces, spread over this
// span.
constexpr double recurring_share_of_piece = 0.002;
constexpr double recurring_pieces = 0.20;
constexpr double recurring_span = 0.50;
// Stations are brought to one lightness by the median over this length on either side.
constexpr double light_reach_mm = 40.0;
constexpr double light_step_mm = 5.0;
// And the round rope is flattened out by the median over so many steps from limb to limb.
constexpr int across_steps = 32;
constexpr double least_foreign = 6.0;
constexpr double foreign_over_own = 1.5;
// From here on a pixel is nearer to white than to the sheath; it is pale if it has no more colour than soiled
// undyed fibre. Up to the second value its colour is the sheath's own; between lie the blurred edges of pale
// tracers.
constexpr float pale_from = 0.5F;
constexpr float sheath_until = 0.3F;
constexpr double largest_pale_chroma = 25.0;
// Share of the undamaged rope that looks like core, from which on the two can't be told apart.
constexpr double sheath_as_pale = 0.3;
// A patch must hold a disc of this radius: a bundle is as thick as that.
constexpr double least_radius_mm = 0.5;
// And it must be so much thicker and larger than the patches that pale tracer yarns make, alone or crossing.
constexpr double radius_over_tracer = 1.2;
constexpr double area_over_tracer = 4.0;
// Above this share of the rope's width such a patch of core could hide among the tracers.
constexpr double largest_tracer_radius = 0.2;
// Half of what a groove between bundles may be wide, and what a loose fibre across the rim may be thick.
constexpr double groove_reach_mm = 0.6;
constexpr double fibre_reach_mm = 0.3;
constexpr double least_area_mm2 = 6.0;  // two bundles side by side over 3 mm
constexpr double least_solidity = 0.5;
constexpr double least_rim_step = 0.35;
// Half-way between sheath and core, and the two thresholds that bound where the rim may be drawn.
constexpr double half_way = 0.5;
constexpr double lenient = 0.4;
constexpr double strict = 0.6;

// The rope's own part of the strip at working size, in CIELAB, each station brought to the median lightness.
struct Working {
    cv::Mat bgr;
    cv::Mat lab;                // CV_32FC3
    cv::Mat rope;               // CV_8U, 255 between the dense edges
    cv::Mat inner;              // the same, limbs left out: what the colours are learnt from
    cv::Mat light;              // CV_32F: what evened out each pixel's linear light
    std::vector<bool> damaged;  // one a row, as the next two
    std::vector<float> left;    // column of the dense edge
    std::vector<float> right;
    double mm_per_px = 0.0;
    int factor = 1;
    int first_column = 0;  // of the strip
    double width_mm = 0.0;

    [[nodiscard]] int px(double mm) const {
        return std::max(1, static_cast<int>(std::lround(mm / mm_per_px)));
    }
    [[nodiscard]] std::size_t step_across(int row, int column) const {
        const auto at = static_cast<std::size_t>(row);
        const float share = (static_cast<float>(column) - left[at]) / (right[at] - left[at]);
        return static_cast<std::size_t>(
            std::clamp(static_cast<int>(share * across_steps), 0, across_steps - 1));
    }
};

using Piece = std::vector<int>;  // rows

template <class Value>
Value quantile(std::vector<Value>& values, double share) {
    const auto at =
        values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

Working reduced(const RopeStrip& strip) {
    Working work;
    work.factor = std::max(1, static_cast<int>(std::lround(working_mm_per_px / strip.mm_per_px)));
    work.mm_per_px = strip.mm_per_px * work.factor;
    std::vector<double> widths;
    double first = strip.bgr.cols;
    double last = 0.0;
    for (std::size_t row = 0; row < strip.left.size(); ++row) {
        const double width = strip.right[row] - strip.left[row];
        if (std::isnan(width)) continue;
        widths.push_back(width);
        first = std::min(first, strip.left[row]);
        last = std::max(last, strip.right[row]);
    }
    if (widths.empty()) return work;
    work.width_mm = quantile(widths, 0.5) * strip.mm_per_px;
    work.first_column = std::max(0, static_cast<int>(first));
    const int columns = std::min(strip.bgr.cols, static_cast<int>(last) + 1) - work.first_column;
    const cv::Size size(columns / work.factor, strip.bgr.rows / work.factor);
    if (size.width <= 0 || size.height <= 0) return work;
    const cv::Rect part(work.first_column, 0, size.width * work.factor, size.height * work.factor);
    cv::resize(strip.bgr(part), work.bgr, size, 0, 0, cv::INTER_AREA);
    cv::Mat seen;
    if (!strip.seen.empty()) cv::resize(strip.seen(part) != 0, seen, size, 0, 0, cv::INTER_AREA);

    work.rope = cv::Mat::zeros(size, CV_8U);
    work.inner = work.rope.clone();
    work.damaged.assign(static_cast<std::size_t>(size.height), strip.damaged.empty());
    for (int row = 0; row < size.height; ++row) {
        const auto from = static_cast<std::size_t>(row * work.factor + work.factor / 2);
        if (!strip.damaged.empty()) work.damaged[static_cast<std::size_t>(row)] = strip.damaged[from];
        const double width = strip.right[from] - strip.left[from];
        const auto in_work = [&](double column) { return (column - work.first_column) / work.factor; };
        work.left.push_back(static_cast<float>(in_work(strip.left[from])));
        work.right.push_back(static_cast<float>(in_work(strip.right[from])));
        if (std::isnan(width)) continue;
        const auto fill = [&](cv::Mat& mask, double inset) {
            const int begin = std::max(0, static_cast<int>(std::ceil(in_work(strip.left[from] + inset))));
            const int end = std::min(size.width, static_cast<int>(in_work(strip.right[from] - inset)));
            for (int column = begin; column < end; ++column)
                if (seen.empty() || seen.at<uchar>(row, column) == 255) mask.at<uchar>(row, column) = 255;
        };
        fill(work.rope, 0.0);
        fill(work.inner, limb_share * width);
    }
    return work;
}

std::vector<Piece> undamaged_pieces(const Working& work, bool all_rows) {
    std::vector<Piece> pieces;
    const auto rows_a_piece = static_cast<std::size_t>(work.px(piece_mm));
    for (int row = 0; row < work.rope.rows; ++row) {
        if (!all_rows && work.damaged[static_cast<std::size_t>(row)]) continue;
        if (cv::countNonZero(work.inner.row(row)) == 0) continue;
        if (pieces.empty() || pieces.back().size() == rows_a_piece) pieces.emplace_back();
        pieces.back().push_back(row);
    }
    if (!pieces.empty() && pieces.back().size() < rows_a_piece / 2) pieces.pop_back();
    return pieces;
}

// Calls visit(row, column) for every pixel that the mask has in the rows.
template <class Visit>
void visit_pixels(const cv::Mat& mask, const Piece& rows, const Visit& visit) {
    for (const int row : rows) {
        const auto* in = mask.ptr<uchar>(row);
        for (int column = 0; column < mask.cols; ++column)
            if (in[column] != 0) visit(row, column);
    }
}

// Lightness as it grows with light: a change of light by a factor g multiplies L* + 16, a* and b* by the cube
// root of g (CIE 15:2004, equations 8.3 to 8.8, above the linear toe).
float cube_root_of_light(const cv::Vec3f& lab) {
    return lab[0] + 16.0F;
}

// By how much the light falls short along the rope, by stretches of light_step_mm: median of the stretch and
// what is within light_reach_mm of it, over the median of all. 1 a row where nothing is seen.
std::vector<float> light_along(const Working& work) {
    const int rows = work.lab.rows;
    std::vector<float> of_rows(static_cast<std::size_t>(rows), std::numeric_limits<float>::quiet_NaN());
    std::vector<float> values;
    std::vector<float> all;
    for (int row = 0; row < rows; ++row) {
        values.clear();
        visit_pixels(work.inner, {row}, [&](int r, int c) {
            values.push_back(cube_root_of_light(work.lab.at<cv::Vec3f>(r, c)));
        });
        if (values.empty()) continue;
        of_rows[static_cast<std::size_t>(row)] = quantile(values, 0.5);
        all.push_back(of_rows[static_cast<std::size_t>(row)]);
    }
    const float usual = quantile(all, 0.5);
    std::vector<float> light(static_cast<std::size_t>(rows), 1.0F);
    const int reach = work.px(light_reach_mm);
    const int step = work.px(light_step_mm);
    for (int from = 0; from < rows; from += step) {
        values.clear();
        for (int near = std::max(0, from - reach); near < std::min(rows, from + step + reach); ++near)
            if (const float v = of_rows[static_cast<std::size_t>(near)]; !std::isnan(v)) values.push_back(v);
        if (values.empty()) continue;
        const float share = quantile(values, 0.5) / usual;
        for (int row = from; row < std::min(rows, from + step); ++row)
            light[static_cast<std::size_t>(row)] = share;
    }
    return light;
}

// The same across the rope, from limb to limb: how the round rope turns away from the light.
std::array<float, across_steps> light_across(const Working& work, const std::vector<Piece>& pieces,
                                             const std::vector<float>& along) {
    std::array<std::vector<float>, across_steps> values;
    for (const Piece& rows : pieces)
        visit_pixels(work.rope, rows, [&](int row, int column) {
            values[work.step_across(row, column)].push_back(
                cube_root_of_light(work.lab.at<cv::Vec3f>(row, column)) /
                along[static_cast<std::size_t>(row)]);
        });
    std::vector<float> all;
    std::array<float, across_steps> light{};
    for (std::size_t i = 0; i < values.size(); ++i) {
        light[i] = values[i].empty() ? std::numeric_limits<float>::quiet_NaN() : quantile(values[i], 0.5);
        if (!values[i].empty()) all.push_back(light[i]);
    }
    const float usual = quantile(all, 0.5);
    for (float& each : light) each = std::isnan(each) ? 1.0F : each / usual;
    return light;
}

void even_out_light(Working& work, const std::vector<Piece>& pieces) {
    work.lab = lab_image(work.bgr);
    work.light = cv::Mat::ones(work.lab.size(), CV_32F);
    const std::vector<float> along = light_along(work);
    const std::array<float, across_steps> across = light_across(work, pieces, along);
    for (int row = 0; row < work.lab.rows; ++row)
        visit_pixels(work.rope, {row}, [&](int r, int c) {
            const float root = 1.0F / (along[static_cast<std::size_t>(r)] * across[work.step_across(r, c)]);
            auto& lab = work.lab.at<cv::Vec3f>(r, c);
            lab = {root * cube_root_of_light(lab) - 16.0F, root * lab[1], root * lab[2]};
            work.light.at<float>(r, c) = root * root * root;
        });
}

// How far from the sheath's mean colour to white paper each pixel lies, in linear light: 0 sheath, 1 white.
// Fluffed fibres scatter white light on top of their own colour and so move along this line.
cv::Mat whiteness(const Working& work, const std::vector<Piece>& pieces, double white) {
    const auto linear = [&](int row, int column) {
        static const auto table = [] {
            std::array<float, 256> values{};
            for (std::size_t i = 0; i < values.size(); ++i)
                values[i] = static_cast<float>(linear_of_srgb(static_cast<double>(i) / 255.0));
            return values;
        }();
        const auto& bgr = work.bgr.at<cv::Vec3b>(row, column);
        return work.light.at<float>(row, column) * cv::Vec3f(table[bgr[0]], table[bgr[1]], table[bgr[2]]);
    };
    cv::Vec3d sum;
    double pixels = 0.0;
    for (const Piece& rows : pieces)
        visit_pixels(work.inner, rows, [&](int row, int column) {
            sum += cv::Vec3d(linear(row, column));
            pixels += 1.0;
        });
    const cv::Vec3f sheath(sum / pixels);
    const cv::Vec3f to_white = cv::Vec3f::all(static_cast<float>(white)) - sheath;
    const cv::Vec3f along = to_white / std::max(to_white.dot(to_white), 1e-6F);

    cv::Mat map = cv::Mat::zeros(work.rope.size(), CV_32F);
    for (int row = 0; row < map.rows; ++row)
        visit_pixels(work.rope, {row},
                     [&](int r, int c) { map.at<float>(r, c) = (linear(r, c) - sheath).dot(along); });
    return map;
}

bool goes_white(float white, const Lab& colour) {
    return white >= sheath_until && colour.chroma() <= largest_pale_chroma;
}

// The colours of sheath and dark tracers: those that recur along the rope and do not go towards white.
// Whether a colour recurs is asked of boxes of CIELAB wide enough to hold some pixels in every piece.
std::vector<Lab> recurring_colours(const Palette& palette, const cv::Mat& inner,
                                   const std::vector<Piece>& pieces, const cv::Mat& white) {
    struct Box {
        int in_piece = 0;
        int pieces = 0;
        int first = 0;
        int last = 0;
    };
    constexpr double side = 8.0;
    const std::vector<int> box_of = boxes_of(palette.colours, side);
    std::vector<Box> boxes(box_of.size());
    std::vector<double> pixels(palette.colours.size());
    std::vector<double> whiteness(palette.colours.size());
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        int in_piece = 0;
        visit_pixels(inner, pieces[i], [&](int row, int column) {
            const auto colour = static_cast<std::size_t>(palette.index.at<int>(row, column));
            ++boxes[static_cast<std::size_t>(box_of[colour])].in_piece;
            pixels[colour] += 1.0;
            whiteness[colour] += static_cast<double>(white.at<float>(row, column));
            ++in_piece;
        });
        for (Box& box : boxes) {
            if (std::exchange(box.in_piece, 0) < recurring_share_of_piece * in_piece) continue;
            box.last = static_cast<int>(i);
            if (box.pieces++ == 0) box.first = box.last;
        }
    }
    const auto count = static_cast<double>(pieces.size());
    std::vector<Lab> colours;
    for (std::size_t i = 0; i < palette.colours.size(); ++i) {
        const Box& box = boxes[static_cast<std::size_t>(box_of[i])];
        if (box.pieces < recurring_pieces * count || box.last - box.first + 1 < recurring_span * count)
            continue;
        if (pixels[i] > 0.0 && !goes_white(static_cast<float>(whiteness[i] / pixels[i]), palette.colours[i]))
            colours.push_back(palette.colours[i]);
    }
    return colours;
}

// The colour difference beyond which a pixel is foreign to the sheath. The median over the pieces keeps a
// damaged piece that was taken for undamaged from raising it.
double foreign_threshold(const Palette& palette, const std::vector<float>& from_sheath, const cv::Mat& inner,
                         const std::vector<Piece>& pieces, const cv::Mat& white) {
    std::vector<float> of_pieces;
    std::vector<float> of_pixels;
    for (const Piece& rows : pieces) {
        of_pixels.clear();
        visit_pixels(inner, rows, [&](int row, int column) {
            const auto colour = static_cast<std::size_t>(palette.index.at<int>(row, column));
            if (!goes_white(white.at<float>(row, column), palette.colours[colour]))
                of_pixels.push_back(from_sheath[colour]);
        });
        if (!of_pixels.empty()) of_pieces.push_back(quantile(of_pixels, 0.99));
    }
    if (of_pieces.empty()) return least_foreign;
    return std::max(least_foreign, foreign_over_own * static_cast<double>(quantile(of_pieces, 0.5)));
}

// Whether the sheath itself looks like undyed fibre in this light: 70 to 90 % as light as paper, neutral to
// yellowish.
bool is_pale(const Palette& palette, const cv::Mat& inner, const std::vector<Piece>& pieces, double white) {
    std::vector<Lab> likely;
    for (const double reflected : {0.70, 0.80, 0.90})
        for (const double yellow : {0.0, 5.0, 10.0})
            likely.push_back({116.0 * std::cbrt(reflected * white) - 16.0, 0.0, yellow});
    const std::vector<float> from_core = distances(palette.colours, likely);
    double pale = 0.0;
    double all = 0.0;
    for (const Piece& rows : pieces)
        visit_pixels(inner, rows, [&](int row, int column) {
            all += 1.0;
            if (from_core[static_cast<std::size_t>(palette.index.at<int>(row, column))] <= least_foreign)
                pale += 1.0;
        });
    return pale > sheath_as_pale * all;
}

cv::Mat pale_pixels(const Palette& palette, const cv::Mat& white) {
    cv::Mat pale = white >= pale_from;
    for (int row = 0; row < pale.rows; ++row)
        visit_pixels(pale, {row}, [&](int r, int c) {
            const auto colour = static_cast<std::size_t>(palette.index.at<int>(r, c));
            if (palette.colours[colour].chroma() > largest_pale_chroma) pale.at<uchar>(r, c) = 0;
        });
    return pale;
}

// The pale patches of the rope: those of tracer yarns recur, one of core doesn't.
struct PalePatches {
    cv::Mat label;               // CV_32S, 0 where not pale
    std::vector<double> area;    // px, by label
    std::vector<double> radius;  // px, of the largest disc in it, by label
    double tracer_area = 0.0;    // of the largest patch in all but the largest fifth of the pieces
    double tracer_radius = 0.0;
};

PalePatches pale_patches(const cv::Mat& pale, const std::vector<Piece>& pieces) {
    PalePatches patches;
    const int count = cv::connectedComponents(pale, patches.label, 8, CV_32S);
    cv::Mat depth;  // px from each pale pixel to the nearest one that is not
    cv::distanceTransform(pale, depth, cv::DIST_L2, cv::DIST_MASK_3);
    patches.area.assign(static_cast<std::size_t>(count), 0.0);
    patches.radius.assign(static_cast<std::size_t>(count), 0.0);
    for (int row = 0; row < pale.rows; ++row)
        visit_pixels(pale, {row}, [&](int r, int c) {
            const auto label = static_cast<std::size_t>(patches.label.at<int>(r, c));
            patches.area[label] += 1.0;
            patches.radius[label] =
                std::max(patches.radius[label], static_cast<double>(depth.at<float>(r, c)));
        });
    std::vector<double> areas;
    std::vector<double> radii;
    for (const Piece& rows : pieces) {
        double area = 0.0;
        double radius = 0.0;
        visit_pixels(pale, rows, [&](int r, int c) {
            const auto label = static_cast<std::size_t>(patches.label.at<int>(r, c));
            area = std::max(area, patches.area[label]);
            radius = std::max(radius, patches.radius[label]);
        });
        areas.push_back(area);
        radii.push_back(radius);
    }
    patches.tracer_area = quantile(areas, 0.8);
    patches.tracer_radius = quantile(radii, 0.8);
    return patches;
}

// Pixels that are core beyond doubt: foreign, pale, and in a solid patch much larger than any that the
// tracers make.
cv::Mat seeds(const Working& work, const Palette& palette, const std::vector<float>& from_sheath,
              double threshold, const PalePatches& patches) {
    const double least_radius = least_radius_mm / work.mm_per_px;
    cv::Mat seed = cv::Mat::zeros(work.rope.size(), CV_8U);
    for (int row = 0; row < seed.rows; ++row) {
        if (!work.damaged[static_cast<std::size_t>(row)]) continue;
        visit_pixels(work.rope, {row}, [&](int r, int c) {
            const int label = patches.label.at<int>(r, c);
            if (label == 0) return;
            const double area = patches.area[static_cast<std::size_t>(label)];
            const double radius = patches.radius[static_cast<std::size_t>(label)];
            const bool large = radius >= radius_over_tracer * patches.tracer_radius &&
                               area >= area_over_tracer * patches.tracer_area;
            const float difference = from_sheath[static_cast<std::size_t>(palette.index.at<int>(r, c))];
            if (radius >= least_radius && large && difference > threshold) seed.at<uchar>(r, c) = 255;
        });
    }
    return seed;
}

Lab mean_of(const std::vector<Lab>& colours, const std::vector<double>& weights) {
    Lab sum;
    double weight = 0.0;
    for (std::size_t i = 0; i < colours.size(); ++i) {
        sum.L += weights[i] * colours[i].L;
        sum.a += weights[i] * colours[i].a;
        sum.b += weights[i] * colours[i].b;
        weight += weights[i];
    }
    return {sum.L / weight, sum.a / weight, sum.b / weight};
}

// For each pixel of the rope its place between sheath (0) and core (1). Where the two differ in hue or
// chroma, by the two colour differences, which shading changes little. Where they differ in lightness alone,
// in linear light, in which a mixture of the two, as loose fibres and blur make it, lies where its shares
// say.
cv::Mat place_between(const Palette& palette, const std::vector<float>& from_sheath, const cv::Mat& inner,
                      const std::vector<Piece>& pieces, const cv::Mat& white, const cv::Mat& seed) {
    std::vector<double> of_sheath(palette.colours.size());
    for (const Piece& rows : pieces)
        visit_pixels(inner, rows, [&](int r, int c) {
            of_sheath[static_cast<std::size_t>(palette.index.at<int>(r, c))] += 1.0;
        });
    std::vector<double> of_core(palette.colours.size());
    std::vector<float> white_of_core;
    for (int row = 0; row < seed.rows; ++row)
        visit_pixels(seed, {row}, [&](int r, int c) {
            of_core[static_cast<std::size_t>(palette.index.at<int>(r, c))] += 1.0;
            white_of_core.push_back(white.at<float>(r, c));
        });
    const double least = 0.005 * cv::countNonZero(seed);
    std::vector<Lab> core;
    for (std::size_t i = 0; i < of_core.size(); ++i)
        if (of_core[i] > 0.0 && of_core[i] >= least) core.push_back(palette.colours[i]);
    const std::vector<float> from_core = distances(palette.colours, core);

    const Lab mean_sheath = mean_of(palette.colours, of_sheath);
    const Lab mean_core = mean_of(palette.colours, of_core);
    const double by_colour =
        std::pow(std::hypot(mean_core.a - mean_sheath.a, mean_core.b - mean_sheath.b), 2);
    const double by_lightness = std::pow(mean_core.L - mean_sheath.L, 2);
    const auto colour_share = static_cast<float>(by_colour / (by_colour + by_lightness));
    const float full_white = quantile(white_of_core, 0.5);

    cv::Mat place = cv::Mat::zeros(seed.size(), CV_32F);
    for (int row = 0; row < place.rows; ++row)
        for (int column = 0; column < place.cols; ++column) {
            const int i = palette.index.at<int>(row, column);
            if (i < 0) continue;
            const auto at = static_cast<std::size_t>(i);
            const float in_colour = from_sheath[at] / std::max(from_sheath[at] + from_core[at], 1e-6F);
            const float in_light = std::clamp(white.at<float>(row, column) / full_white, 0.0F, 1.0F);
            place.at<float>(row, column) = colour_share * in_colour + (1.0F - colour_share) * in_light;
        }
    return place;
}

cv::Mat disc(int reach) {
    return cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * reach + 1, 2 * reach + 1});
}

cv::Mat filled(const std::vector<Contour>& contours, cv::Size size) {
    cv::Mat mask = cv::Mat::zeros(size, CV_8U);
    cv::drawContours(mask, contours, -1, 255, cv::FILLED);
    return mask;
}

// The regions above the threshold that hold a seed, grooves closed, holes filled, loose fibres that touch
// them cut off.
std::vector<Contour> grown(const Working& work, const cv::Mat& place, const cv::Mat& seed, double threshold) {
    cv::Mat mask = place > threshold;
    cv::morphologyEx(mask, mask, cv::MORPH_CLOSE, disc(work.px(groove_reach_mm)));
    cv::morphologyEx(mask, mask, cv::MORPH_OPEN, disc(work.px(fibre_reach_mm)));
    std::vector<Contour> contours;
    cv::findContours(mask, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
    std::erase_if(contours, [&](const Contour& contour) {
        return cv::countNonZero(filled({contour}, mask.size()) & seed) == 0;
    });
    return contours;
}

// Large enough, solid and sharply bounded.
bool is_core(const Working& work, const cv::Mat& place, const Contour& contour) {
    const cv::Mat region = filled({contour}, place.size());
    const double pixels = cv::countNonZero(region);
    if (pixels * work.mm_per_px * work.mm_per_px < least_area_mm2) return false;
    Contour hull;
    cv::convexHull(contour, hull);
    if (pixels < least_solidity * cv::contourArea(hull)) return false;

    // The step from 0.3 to 0.8 mm outside the rim to the same inside.
    const auto ring = [&](cv::MorphTypes way, double mm) {
        cv::Mat moved;
        cv::morphologyEx(region, moved, way, disc(work.px(mm)));
        return moved;
    };
    const cv::Mat inside = ring(cv::MORPH_ERODE, 0.3) & ~ring(cv::MORPH_ERODE, 0.8) & work.rope;
    const cv::Mat outside = ring(cv::MORPH_DILATE, 0.8) & ~ring(cv::MORPH_DILATE, 0.3) & work.rope;
    return cv::mean(place, inside)[0] - cv::mean(place, outside)[0] >= least_rim_step;
}

struct Extent {
    double area_mm2 = 0.0;
    double length_mm = 0.0;
    double rim_mm = 0.0;
};

Extent extent(const Working& work, const std::vector<Contour>& contours) {
    Extent extent;
    const cv::Mat mask = filled(contours, work.rope.size());
    extent.area_mm2 = cv::countNonZero(mask) * work.mm_per_px * work.mm_per_px;
    Contour all;
    for (const Contour& contour : contours) {
        extent.rim_mm += cv::arcLength(contour, true) * work.mm_per_px;
        all.insert(all.end(), contour.begin(), contour.end());
    }
    extent.length_mm = cv::boundingRect(all).height * work.mm_per_px;
    return extent;
}

CoreSeen told(CoreSeen::Verdict verdict, std::string remark) {
    CoreSeen result;
    result.verdict = verdict;
    result.remark = std::move(remark);
    return result;
}

CoreSeen measured(const RopeStrip& strip, const Working& work, const cv::Mat& place, const cv::Mat& seed,
                  const std::vector<Contour>& core) {
    const cv::Mat mask = filled(core, place.size());
    const cv::Mat own_seed = seed & mask;
    const Extent middle = extent(work, core);
    const Extent wide = extent(work, grown(work, place, own_seed, lenient));
    const Extent narrow = extent(work, grown(work, place, own_seed, strict));

    CoreSeen result;
    result.verdict = CoreSeen::Verdict::found;
    result.area_mm2 = middle.area_mm2;
    result.length_mm = middle.length_mm;
    // Rectangular between the two thresholds (JCGM 100, 4.3.7); a rim anywhere within one working pixel.
    const double half_range = 1.0 / (2.0 * std::sqrt(3.0));
    result.area_budget = {
        {"rim of the core, two thresholds", half_range * std::abs(wide.area_mm2 - narrow.area_mm2)},
        {"rim of the core, pixels", half_range * middle.rim_mm * work.mm_per_px}};
    result.length_budget = {
        {"rim of the core, two thresholds", half_range * std::abs(wide.length_mm - narrow.length_mm)},
        {"rim of the core, pixels", half_range * std::sqrt(2.0) * work.mm_per_px}};
    for (const Contour& contour : core) {
        auto& outline = result.outlines.emplace_back();
        for (const cv::Point& p : contour)
            outline.emplace_back(work.first_column + (p.x + 0.5) * work.factor - 0.5,
                                 (p.y + 0.5) * work.factor - 0.5);
    }
    result.mask = cv::Mat::zeros(strip.bgr.size(), CV_8U);
    cv::Mat enlarged;
    cv::resize(mask, enlarged, {}, work.factor, work.factor, cv::INTER_NEAREST);
    enlarged.copyTo(result.mask(cv::Rect(work.first_column, 0, enlarged.cols, enlarged.rows)));
    return result;
}

}  // namespace

CoreSeen find_core(const RopeStrip& strip) {
    CV_Assert(strip.bgr.type() == CV_8UC3 && strip.mm_per_px > 0.0);
    CV_Assert(strip.left.size() == static_cast<std::size_t>(strip.bgr.rows) &&
              strip.right.size() == strip.left.size());
    CV_Assert(strip.damaged.empty() || strip.damaged.size() == strip.left.size());

    Working work = reduced(strip);
    const std::vector<Piece> pieces = undamaged_pieces(work, strip.damaged.empty());
    if (pieces.size() < least_pieces)
        return told(CoreSeen::Verdict::cannot_tell,
                    "cannot tell core by colour, too little undamaged rope is in the picture: look and feel");
    even_out_light(work, pieces);
    const Palette palette = palette_of(work.lab, work.rope);
    if (is_pale(palette, work.inner, pieces, strip.white))
        return told(CoreSeen::Verdict::cannot_tell,
                    "cannot tell core by colour, the sheath is as pale as core: look and feel");

    const cv::Mat white = whiteness(work, pieces, strip.white);
    const PalePatches patches = pale_patches(pale_pixels(palette, white), pieces);
    if (patches.tracer_radius * work.mm_per_px > largest_tracer_radius * work.width_mm)
        return told(CoreSeen::Verdict::cannot_tell,
                    "cannot tell core by colour, the tracer yarns are as pale as core: look and feel");

    const std::vector<float> from_sheath =
        distances(palette.colours, recurring_colours(palette, work.inner, pieces, white));
    const double threshold = foreign_threshold(palette, from_sheath, work.inner, pieces, white);
    const cv::Mat seed = seeds(work, palette, from_sheath, threshold, patches);
    std::vector<Contour> core;
    cv::Mat place;
    if (cv::countNonZero(seed) != 0) {
        place = place_between(palette, from_sheath, work.inner, pieces, white, seed);
        core = grown(work, place, seed, half_way);
        std::erase_if(core, [&](const Contour& contour) { return !is_core(work, place, contour); });
    }
    if (core.empty())
        return told(CoreSeen::Verdict::none_found, "no core seen by colour: look and feel all the same");
    return measured(strip, work, place, seed, core);
}

}  // namespace frayhold::gauge
