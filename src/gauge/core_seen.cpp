// SPDX-License-Identifier: Apache-2.0
#include "gauge/core_seen.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <opencv2/imgproc.hpp>
#include <utility>

#include "gauge/colour.h"
#include "gauge/colour_set.h"

namespace frayhold::gauge {
namespace {

// Nothing finer than this is looked at: a core bundle is 1 mm thick or more.
constexpr double working_mm_per_px = 0.15;
// Left out at each limb, as a share of the width: there the bench shines through loose fibres.
constexpr double limb_share = 0.06;
// A piece of rope in which a colour is either there or not, and how many of them the sheath must fill.
constexpr double piece_mm = 10.0;
constexpr std::size_t least_pieces = 4;
// A colour is the sheath's when it fills this share of a piece, in this share of the pieces, spread over this
// span.
constexpr double recurring_share_of_piece = 0.002;
constexpr double recurring_pieces = 0.20;
constexpr double recurring_span = 0.50;
// Stations are brought to one lightness by the median over this length on either side.
constexpr double light_reach_mm = 20.0;
constexpr double least_foreign = 6.0;
constexpr double foreign_over_own = 1.5;
// Undamaged pixels as pale as core, from which on the sheath is called pale.
constexpr double pale_share = 0.02;
constexpr double solid_reach_mm = 0.45;
constexpr double groove_reach_mm = 0.3;
constexpr double least_area_mm2 = 2.0;
constexpr double least_solidity = 0.5;
constexpr double least_rim_step = 0.35;
// Half-way between sheath and core, and the two thresholds that bound where the rim may be drawn.
constexpr double half_way = 0.5;
constexpr double lenient = 0.4;
constexpr double strict = 0.6;

// The strip reduced to working size, in CIELAB, each station brought to the median lightness.
struct Working {
    cv::Mat bgr;
    cv::Mat lab;                // CV_32FC3
    cv::Mat rope;               // CV_8U, 255 between the dense edges, limbs left out
    std::vector<float> light;   // one a row: linear light is to be multiplied by this
    std::vector<bool> damaged;  // one a row
    double mm_per_px = 0.0;
    int factor = 1;

    [[nodiscard]] int px(double mm) const {
        return std::max(1, static_cast<int>(std::lround(mm / mm_per_px)));
    }
};

cv::Mat disc(int reach) {
    return cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * reach + 1, 2 * reach + 1});
}

template <class Value>
Value median(std::vector<Value> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

template <class Value>
Value quantile(std::vector<Value>& values, double share) {
    const auto at =
        values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

Working reduced(const RopeStrip& strip) {
    Working work;
    work.factor = std::max(1, static_cast<int>(working_mm_per_px / strip.mm_per_px));
    work.mm_per_px = strip.mm_per_px * work.factor;
    const cv::Size size(strip.bgr.cols / work.factor, strip.bgr.rows / work.factor);
    const cv::Rect whole(0, 0, size.width * work.factor, size.height * work.factor);
    cv::resize(strip.bgr(whole), work.bgr, size, 0, 0, cv::INTER_AREA);
    cv::Mat seen;
    if (!strip.seen.empty()) cv::resize(strip.seen(whole) != 0, seen, size, 0, 0, cv::INTER_AREA);

    work.rope = cv::Mat::zeros(size, CV_8U);
    work.damaged.assign(static_cast<std::size_t>(size.height), strip.damaged.empty());
    for (int row = 0; row < size.height; ++row) {
        const auto from = static_cast<std::size_t>(row * work.factor + work.factor / 2);
        if (!strip.damaged.empty()) work.damaged[static_cast<std::size_t>(row)] = strip.damaged[from];
        const double inset = limb_share * (strip.right[from] - strip.left[from]);
        const int first = static_cast<int>(std::ceil((strip.left[from] + inset) / work.factor));
        const int last = static_cast<int>((strip.right[from] - inset) / work.factor);
        if (std::isnan(inset)) continue;
        for (int column = std::max(0, first); column <= std::min(last, size.width - 1); ++column)
            if (seen.empty() || seen.at<uchar>(row, column) == 255) work.rope.at<uchar>(row, column) = 255;
    }
    return work;
}

// A change of light by a factor g multiplies L* + 16, a* and b* by its cube root (CIE 15:2004, equations 8.3
// to 8.8, above the linear toe).
void even_out_light(Working& work) {
    work.lab = lab_image(work.bgr);
    const int rows = work.lab.rows;
    std::vector<float> of_row(static_cast<std::size_t>(rows), std::numeric_limits<float>::quiet_NaN());
    std::vector<float> values;
    for (int row = 0; row < rows; ++row) {
        values.clear();
        for (int column = 0; column < work.lab.cols; ++column)
            if (work.rope.at<uchar>(row, column) != 0)
                values.push_back(work.lab.at<cv::Vec3f>(row, column)[0] + 16.0F);
        if (!values.empty()) of_row[static_cast<std::size_t>(row)] = median(values);
    }
    std::vector<float> all;
    std::copy_if(of_row.begin(), of_row.end(), std::back_inserter(all),
                 [](float v) { return !std::isnan(v); });
    work.light.assign(static_cast<std::size_t>(rows), 1.0F);
    if (all.empty()) return;
    const float target = median(all);
    const int reach = work.px(light_reach_mm);
    for (int row = 0; row < rows; ++row) {
        values.clear();
        for (int near = std::max(0, row - reach); near <= std::min(rows - 1, row + reach); ++near)
            if (const float v = of_row[static_cast<std::size_t>(near)]; !std::isnan(v)) values.push_back(v);
        if (values.empty()) continue;
        const float root = target / median(values);
        work.light[static_cast<std::size_t>(row)] = root * root * root;
        for (int column = 0; column < work.lab.cols; ++column) {
            auto& lab = work.lab.at<cv::Vec3f>(row, column);
            lab = {root * (lab[0] + 16.0F) - 16.0F, root * lab[1], root * lab[2]};
        }
    }
}

// Rows of undamaged rope, cut into pieces of about piece_mm.
std::vector<std::vector<int>> undamaged_pieces(const Working& work, bool all_rows) {
    std::vector<std::vector<int>> pieces;
    const auto rows_a_piece = static_cast<std::size_t>(work.px(piece_mm));
    for (int row = 0; row < work.rope.rows; ++row) {
        if (!all_rows && work.damaged[static_cast<std::size_t>(row)]) continue;
        if (cv::countNonZero(work.rope.row(row)) == 0) continue;
        if (pieces.empty() || pieces.back().size() == rows_a_piece) pieces.emplace_back();
        pieces.back().push_back(row);
    }
    if (!pieces.empty() && pieces.back().size() < rows_a_piece / 2) pieces.pop_back();
    return pieces;
}

template <class Visit>
void visit_pixels(const Working& work, const std::vector<int>& rows, const Visit& visit) {
    for (const int row : rows) {
        const auto* lab = work.lab.ptr<cv::Vec3f>(row);
        const auto* rope = work.rope.ptr<uchar>(row);
        for (int column = 0; column < work.lab.cols; ++column)
            if (rope[column] != 0) visit(lab[column], row, column);
    }
}

// The colours of sheath and tracers: those that recur along the rope.
ColourSet recurring_colours(const Working& work, const std::vector<std::vector<int>>& pieces) {
    constexpr int side = 4;
    const LabBoxes boxes(side);
    struct Box {
        int in_piece = 0;
        int pieces = 0;
        int first = -1;
        int last = -1;
        int pixels = 0;
        cv::Vec3d sum;
    };
    std::vector<Box> found(boxes.count());
    std::vector<std::size_t> touched;
    std::vector<std::size_t> ever_touched;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
        int pixels = 0;
        touched.clear();
        visit_pixels(work, pieces[i], [&](const cv::Vec3f& lab, int, int) {
            Box& box = found[boxes.of(lab)];
            if (box.in_piece++ == 0) touched.push_back(boxes.of(lab));
            if (box.pixels++ == 0) ever_touched.push_back(boxes.of(lab));
            box.sum += cv::Vec3d(lab);
            ++pixels;
        });
        for (const std::size_t each : touched) {
            Box& box = found[each];
            if (std::exchange(box.in_piece, 0) < recurring_share_of_piece * pixels) continue;
            ++box.pieces;
            box.last = static_cast<int>(i);
            if (box.first < 0) box.first = box.last;
        }
    }
    const auto count = static_cast<double>(pieces.size());
    std::vector<Lab> colours;
    for (const std::size_t each : ever_touched) {
        const Box& box = found[each];
        if (box.pieces < recurring_pieces * count || box.last - box.first + 1 < recurring_span * count)
            continue;
        const cv::Vec3d mean = box.sum / static_cast<double>(box.pixels);
        colours.push_back({mean[0], mean[1], mean[2]});
    }
    return ColourSet(std::move(colours));
}

// The colour difference beyond which a pixel is foreign to the sheath. The median over the pieces keeps a
// damaged piece that was taken for undamaged from raising it.
double foreign_threshold(const Working& work, const std::vector<std::vector<int>>& pieces,
                         ColourSet& sheath) {
    std::vector<float> of_pieces;
    std::vector<float> distances;
    for (const auto& rows : pieces) {
        distances.clear();
        visit_pixels(work, rows,
                     [&](const cv::Vec3f& lab, int, int) { distances.push_back(sheath.distance(lab)); });
        of_pieces.push_back(quantile(distances, 0.99));
    }
    return std::max(least_foreign, foreign_over_own * static_cast<double>(median(of_pieces)));
}

// Undyed fibre in this light: 60 to 90 % as light as paper, from neutral to yellowish.
std::vector<Lab> likely_core(double white) {
    std::vector<Lab> colours;
    for (const double reflected : {0.60, 0.75, 0.90})
        for (const double yellow : {0.0, 5.0, 10.0})
            colours.push_back({116.0 * std::cbrt(reflected * white) - 16.0, 0.0, yellow});
    return colours;
}

bool is_pale(const Working& work, const std::vector<std::vector<int>>& pieces, double threshold,
             double white) {
    ColourSet core(likely_core(white));
    double pale = 0.0;
    double all = 0.0;
    for (const auto& rows : pieces)
        visit_pixels(work, rows, [&](const cv::Vec3f& lab, int, int) {
            all += 1.0;
            if (core.distance(lab) <= threshold) pale += 1.0;
        });
    return pale > pale_share * all;
}

cv::Vec3f linear_light(const cv::Vec3b& bgr, float light) {
    static const auto table = [] {
        std::array<float, 256> values{};
        for (std::size_t i = 0; i < values.size(); ++i)
            values[i] = static_cast<float>(linear_of_srgb(static_cast<double>(i) / 255.0));
        return values;
    }();
    return light * cv::Vec3f(table[bgr[0]], table[bgr[1]], table[bgr[2]]);
}

// How far from the sheath's mean colour to white a pixel lies, in linear light: 0 sheath, 1 white. Fluffed
// fibres scatter white light on top of their own colour and so move along this line.
class Whiteness {
  public:
    Whiteness(const Working& work, const std::vector<std::vector<int>>& pieces, double white) {
        cv::Vec3d sum;
        double pixels = 0.0;
        for (const auto& rows : pieces)
            visit_pixels(work, rows, [&](const cv::Vec3f&, int row, int column) {
                sum += cv::Vec3d(linear_light(work.bgr.at<cv::Vec3b>(row, column),
                                              work.light[static_cast<std::size_t>(row)]));
                pixels += 1.0;
            });
        sheath_ = cv::Vec3f(sum / std::max(1.0, pixels));
        const cv::Vec3f to_white = cv::Vec3f::all(static_cast<float>(white)) - sheath_;
        const float squared = to_white.dot(to_white);
        along_ = squared > 0.0F ? to_white / squared : cv::Vec3f::all(0.0F);
    }
    [[nodiscard]] float of(const cv::Vec3b& bgr, float light) const {
        return (linear_light(bgr, light) - sheath_).dot(along_);
    }

  private:
    cv::Vec3f sheath_;
    cv::Vec3f along_;
};

// Pixels that are core beyond doubt, as solid patches.
cv::Mat seeds(const Working& work, ColourSet& sheath, double threshold, const Whiteness& whiteness) {
    cv::Mat mask = cv::Mat::zeros(work.rope.size(), CV_8U);
    std::vector<int> rows;
    for (int row = 0; row < mask.rows; ++row)
        if (work.damaged[static_cast<std::size_t>(row)]) rows.push_back(row);
    visit_pixels(work, rows, [&](const cv::Vec3f& lab, int row, int column) {
        if (sheath.distance(lab) <= threshold) return;
        const float light = work.light[static_cast<std::size_t>(row)];
        if (whiteness.of(work.bgr.at<cv::Vec3b>(row, column), light) >= 0.5F)
            mask.at<uchar>(row, column) = 255;
    });
    cv::morphologyEx(mask, mask, cv::MORPH_OPEN, disc(work.px(solid_reach_mm)));
    return mask;
}

// For each pixel of the rope its place between sheath (0) and core (1), by the two colour differences.
cv::Mat place_between(const Working& work, ColourSet& sheath, const cv::Mat& seed) {
    constexpr int side = 4;
    const LabBoxes boxes(side);
    std::vector<int> count(boxes.count());
    int all = 0;
    for (int row = 0; row < seed.rows; ++row)
        for (int column = 0; column < seed.cols; ++column)
            if (seed.at<uchar>(row, column) != 0) {
                ++count[boxes.of(work.lab.at<cv::Vec3f>(row, column))];
                ++all;
            }
    std::vector<Lab> colours;
    for (std::size_t box = 0; box < count.size(); ++box)
        if (count[box] >= std::max(1, all / 100)) colours.push_back(boxes.middle(box));
    ColourSet core(std::move(colours));

    cv::Mat place = cv::Mat::zeros(work.rope.size(), CV_32F);
    for (int row = 0; row < place.rows; ++row)
        for (int column = 0; column < place.cols; ++column) {
            if (work.rope.at<uchar>(row, column) == 0) continue;
            const auto& lab = work.lab.at<cv::Vec3f>(row, column);
            const float from_sheath = sheath.distance(lab);
            place.at<float>(row, column) = from_sheath / std::max(from_sheath + core.distance(lab), 1e-6F);
        }
    return place;
}

// The regions above the threshold that hold a seed, grooves closed and holes filled: label image and count.
struct Regions {
    cv::Mat mask;  // CV_8U
    std::vector<std::vector<cv::Point>> contours;
};

Regions grown(const Working& work, const cv::Mat& place, const cv::Mat& seed, double threshold) {
    cv::Mat mask = place > threshold;
    cv::morphologyEx(mask, mask, cv::MORPH_CLOSE, disc(work.px(groove_reach_mm)));
    // Loose fibres that touch the core are not part of it.
    cv::morphologyEx(mask, mask, cv::MORPH_OPEN, disc(work.px(groove_reach_mm)));
    Regions regions;
    regions.mask = cv::Mat::zeros(mask.size(), CV_8U);
    std::vector<std::vector<cv::Point>> contours;
    cv::findContours(mask, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
    for (auto& contour : contours) {
        cv::Mat filled = cv::Mat::zeros(mask.size(), CV_8U);
        cv::drawContours(filled, std::vector{contour}, 0, 255, cv::FILLED);
        if (cv::countNonZero(filled & seed) == 0) continue;
        regions.mask |= filled;
        regions.contours.push_back(std::move(contour));
    }
    return regions;
}

// Solid, large enough and sharply bounded.
bool is_core(const Working& work, const cv::Mat& place, const std::vector<cv::Point>& contour) {
    cv::Mat filled = cv::Mat::zeros(place.size(), CV_8U);
    cv::drawContours(filled, std::vector{contour}, 0, 255, cv::FILLED);
    const double pixels = cv::countNonZero(filled);
    if (pixels * work.mm_per_px * work.mm_per_px < least_area_mm2) return false;
    std::vector<cv::Point> hull;
    cv::convexHull(contour, hull);
    const double hull_pixels = std::max(cv::contourArea(hull), 1.0);
    if (pixels < least_solidity * hull_pixels) return false;

    const auto band = [&](const cv::Mat& outer, const cv::Mat& inner) {
        return cv::mean(place, outer & ~inner & work.rope)[0];
    };
    const cv::Mat near = disc(work.px(0.3));
    const cv::Mat far = disc(work.px(0.8));
    cv::Mat inner_near;
    cv::Mat inner_far;
    cv::Mat outer_near;
    cv::Mat outer_far;
    cv::erode(filled, inner_near, near);
    cv::erode(filled, inner_far, far);
    cv::dilate(filled, outer_near, near);
    cv::dilate(filled, outer_far, far);
    return band(inner_near, inner_far) - band(outer_far, outer_near) >= least_rim_step;
}

struct Extent {
    double area_mm2 = 0.0;
    double length_mm = 0.0;
    double rim_mm = 0.0;
};

Extent extent(const Working& work, const Regions& regions) {
    Extent extent;
    extent.area_mm2 = cv::countNonZero(regions.mask) * work.mm_per_px * work.mm_per_px;
    for (const auto& contour : regions.contours)
        extent.rim_mm += cv::arcLength(contour, true) * work.mm_per_px;
    int first = regions.mask.rows;
    int last = -1;
    for (int row = 0; row < regions.mask.rows; ++row) {
        if (cv::countNonZero(regions.mask.row(row)) == 0) continue;
        first = std::min(first, row);
        last = row;
    }
    extent.length_mm = std::max(0, last - first + 1) * work.mm_per_px;
    return extent;
}

CoreSeen told(CoreSeen::Verdict verdict, std::string remark) {
    CoreSeen result;
    result.verdict = verdict;
    result.remark = std::move(remark);
    return result;
}

}  // namespace

CoreSeen find_core(const RopeStrip& strip) {
    CV_Assert(strip.bgr.type() == CV_8UC3 && strip.mm_per_px > 0.0);
    CV_Assert(strip.left.size() == static_cast<std::size_t>(strip.bgr.rows) &&
              strip.right.size() == strip.left.size());
    CV_Assert(strip.damaged.empty() || strip.damaged.size() == strip.left.size());

    Working work = reduced(strip);
    const auto pieces = undamaged_pieces(work, strip.damaged.empty());
    if (pieces.size() < least_pieces)
        return told(CoreSeen::Verdict::cannot_tell,
                    "cannot tell core by colour, too little undamaged rope is in the picture: look and feel");
    even_out_light(work);
    ColourSet sheath = recurring_colours(work, pieces);
    const double threshold = foreign_threshold(work, pieces, sheath);
    const cv::Mat seed = seeds(work, sheath, threshold, Whiteness(work, pieces, strip.white));

    Regions core;
    cv::Mat place;
    if (cv::countNonZero(seed) != 0) {
        place = place_between(work, sheath, seed);
        core = grown(work, place, seed, half_way);
        std::erase_if(core.contours, [&](const auto& contour) { return !is_core(work, place, contour); });
    }
    if (core.contours.empty()) {
        if (is_pale(work, pieces, threshold, strip.white))
            return told(CoreSeen::Verdict::cannot_tell,
                        "cannot tell core by colour, the sheath is as pale as core: look and feel");
        return told(CoreSeen::Verdict::none_found, "no core seen by colour: look and feel all the same");
    }

    // The same regions, drawn by the lenient and by the strict threshold.
    core.mask = cv::Mat::zeros(place.size(), CV_8U);
    cv::drawContours(core.mask, core.contours, -1, 255, cv::FILLED);
    const cv::Mat own_seed = seed & core.mask;
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
    for (const auto& contour : core.contours) {
        auto& outline = result.outlines.emplace_back();
        for (const cv::Point& p : contour)
            outline.emplace_back((p.x + 0.5) * work.factor - 0.5, (p.y + 0.5) * work.factor - 0.5);
    }
    result.mask = cv::Mat::zeros(strip.bgr.size(), CV_8U);
    cv::Mat enlarged;
    cv::resize(core.mask, enlarged, {}, work.factor, work.factor, cv::INTER_NEAREST);
    enlarged.copyTo(result.mask(cv::Rect(0, 0, enlarged.cols, enlarged.rows)));
    return result;
}

}  // namespace frayhold::gauge
