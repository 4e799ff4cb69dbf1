// SPDX-License-Identifier: Apache-2.0
#include "gauge/core_seen.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <utility>

#include "gauge/colour.h"
#include "gauge/core_rim.h"
#include "gauge/even_strip.h"
#include "gauge/light.h"
#include "gauge/palette.h"
#include "gauge/quantile.h"
#include "gauge/sheath_colours.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

using Contour = std::vector<cv::Point>;

// A patch must hold a disc of this radius: a bundle is as thick as that.
constexpr double least_radius_mm = 0.5;
// And it must be so much thicker and larger than the patches that pale tracer yarns make, alone or crossing.
constexpr double radius_over_tracer = 1.2;
constexpr double area_over_tracer = 4.0;
// Thicker by so much than the tracers it is named to the person, whatever its area.
constexpr double doubtful_radius_over_tracer = 1.3;
// Above this share of the rope's width such a patch of core could hide among the tracers.
constexpr double largest_tracer_radius = 0.2;
// Half of what a groove between bundles may be wide, and of what a loose fibre across the rim may be thick.
constexpr double groove_reach_mm = 0.6;
constexpr double fibre_reach_mm = 0.3;
// How far a region may run on into tips narrower than that; and where tracers are as pale as core, into what
// does not plainly taper.
constexpr double tip_reach_mm = 2.5;
constexpr double tip_reach_beside_tracers_mm = 0.6;
// What tips between the yarns of the sheath hide, both ends together: where they are finer than the blur, as
// many of its standard deviations, and under fibres that lie over them. Means, and standard deviations: most
// hide little, few a millimetre and more.
constexpr double hidden_tip_blurs = 1.5, hidden_tip_u_blurs = 1.6, hidden_tip_u_mm = 0.3;
constexpr double least_area_mm2 = 6.0;  // two bundles side by side over 3 mm
constexpr double least_solidity = 0.5;
constexpr double least_rim_step = 0.35;
constexpr double largest_own_colour = 0.5;
// How far blur and sharpening by the camera may draw the rim aside all round, one standard deviation.
constexpr double rim_u_mm = 0.05;
// Half-way between sheath and core, by colour.
constexpr double half_way = 0.5;
// At the foot of the torn sheath's wall core sees half the sky, within the blur little more of it (0.15 mm
// from a wall of 1 mm, 0.57); a lamp from one side lights it more or less. Any of these shades as likely.
constexpr double darkest_rim = 0.4;
constexpr double lightest_rim = 0.7;
constexpr double usual_rim = (darkest_rim + lightest_rim) / 2;

struct Size {
    double area = 0.0;    // px
    double radius = 0.0;  // px, of the largest disc within
};

// The pale patches of the rope: those of tracer yarns recur, one of core doesn't.
struct PalePatches {
    cv::Mat label;                           // CV_32S, 0 where not pale
    std::vector<Size> sizes;                 // by label
    std::vector<std::vector<int>> of_piece;  // labels of each undamaged piece
};

PalePatches pale_patches(const cv::Mat& pale, const std::vector<Piece>& pieces) {
    PalePatches patches;
    patches.sizes.resize(static_cast<std::size_t>(cv::connectedComponents(pale, patches.label, 8, CV_32S)));
    cv::Mat depth;  // px from each pale pixel to the nearest one that is not
    cv::distanceTransform(pale, depth, cv::DIST_L2, cv::DIST_MASK_3);
    visit_pixels(pale, [&](int row, int column) {
        Size& size = patches.sizes[static_cast<std::size_t>(patches.label.at<int>(row, column))];
        size.area += 1.0;
        size.radius = std::max(size.radius, static_cast<double>(depth.at<float>(row, column)));
    });
    for (const Piece& rows : pieces) {
        std::vector<int>& labels = patches.of_piece.emplace_back();
        visit_pixels(pale, rows, [&](int row, int column) {
            const int label = patches.label.at<int>(row, column);
            if (std::find(labels.begin(), labels.end(), label) == labels.end()) labels.push_back(label);
        });
    }
    return patches;
}

// The size that pale tracers reach in all but the worst fifth of the undamaged pieces, leaving out those into
// which the patch `but` reaches. Empty where too few are left to tell.
std::optional<Size> tracer_size(const PalePatches& patches, int but) {
    std::vector<double> areas;
    std::vector<double> radii;
    for (const std::vector<int>& labels : patches.of_piece) {
        if (std::find(labels.begin(), labels.end(), but) != labels.end()) continue;
        Size largest;
        for (const int label : labels) {
            const Size& size = patches.sizes[static_cast<std::size_t>(label)];
            largest = {std::max(largest.area, size.area), std::max(largest.radius, size.radius)};
        }
        areas.push_back(largest.area);
        radii.push_back(largest.radius);
    }
    constexpr std::size_t least_pieces = 3;
    if (areas.size() < least_pieces) return std::nullopt;
    return Size{quantile(areas, 0.8), quantile(radii, 0.8)};
}

// By label: whether the patch is solid and much larger than what tracers make; or so much thicker that a
// tracer it is not, though among tracers of its own paleness that does not make it core.
struct Standing {
    std::vector<bool> large, doubtful;
};

Standing standing_of(const EvenStrip& strip, const PalePatches& patches) {
    Standing standing;
    standing.large.resize(patches.sizes.size());
    standing.doubtful.resize(patches.sizes.size());
    for (std::size_t label = 1; label < patches.sizes.size(); ++label) {
        const Size& size = patches.sizes[label];
        if (size.radius * strip.mm_per_px < least_radius_mm) continue;
        const auto tracer = tracer_size(patches, static_cast<int>(label));
        if (!tracer || size.radius < radius_over_tracer * tracer->radius) continue;
        standing.large[label] = size.area >= area_over_tracer * tracer->area;
        standing.doubtful[label] = size.area * strip.mm_per_px * strip.mm_per_px >= least_area_mm2 &&
                                   size.area >= tracer->area &&
                                   size.radius >= doubtful_radius_over_tracer * tracer->radius;
    }
    return standing;
}

// The pixels that are core beyond doubt.
cv::Mat seeds(const EvenStrip& strip, const SheathColours& sheath, const PalePatches& patches,
              const std::vector<bool>& large) {
    cv::Mat seed = cv::Mat::zeros(strip.rope.size(), CV_8U);
    visit_pixels(sheath.pale, [&](int row, int column) {
        const auto label = static_cast<std::size_t>(patches.label.at<int>(row, column));
        const auto difference = static_cast<double>(sheath.from_sheath[sheath.colour_at(row, column)]);
        if (large[label] && difference > sheath.foreign_from && strip.damaged[static_cast<std::size_t>(row)])
            seed.at<uchar>(row, column) = 255;
    });
    return seed;
}

// What the seeds look like.
struct CoreColours {
    std::vector<float> from_core;  // by colour of the palette, CIEDE2000 (kL = 2)
    Lab mean;
    float whiteness = 0.0F;  // median
};

CoreColours learn_core(const SheathColours& sheath, const cv::Mat& seed) {
    const std::vector<Lab>& colours = sheath.palette.colours;
    std::vector<double> pixels(colours.size());
    std::vector<float> whiteness;
    visit_pixels(seed, [&](int row, int column) {
        pixels[sheath.colour_at(row, column)] += 1.0;
        whiteness.push_back(sheath.whiteness.at<float>(row, column));
    });
    const auto all = static_cast<double>(whiteness.size());
    CoreColours core;
    std::vector<Lab> frequent;
    for (std::size_t i = 0; i < colours.size(); ++i) {
        core.mean.L += colours[i].L * pixels[i] / all;
        core.mean.a += colours[i].a * pixels[i] / all;
        core.mean.b += colours[i].b * pixels[i] / all;
        if (pixels[i] > 0.005 * all) frequent.push_back(colours[i]);
    }
    core.from_core = distances(colours, frequent);
    core.whiteness = quantile(whiteness, 0.5);
    return core;
}

// For each pixel of the rope its place between sheath (0) and core (1). Where the two differ in hue or
// chroma, by the two colour differences, which shading changes little. Where they differ in lightness alone,
// in linear light, in which a mixture of the two, as loose fibres and blur make it, lies where its shares
// say.
cv::Mat place_between(const SheathColours& sheath, const CoreColours& core) {
    const double colour_squared =
        std::pow(core.mean.a - sheath.mean.a, 2) + std::pow(core.mean.b - sheath.mean.b, 2);
    const double lightness_squared = std::pow(core.mean.L - sheath.mean.L, 2);
    const auto by_colour = static_cast<float>(colour_squared / (colour_squared + lightness_squared));
    const cv::Mat& index = sheath.palette.index;
    cv::Mat place = cv::Mat::zeros(index.size(), CV_32F);
    for (int row = 0; row < index.rows; ++row)
        for (int column = 0; column < index.cols; ++column) {
            if (index.at<int>(row, column) < 0) continue;
            const std::size_t colour = sheath.colour_at(row, column);
            const float both = sheath.from_sheath[colour] + core.from_core[colour];
            const float in_colour = both > 0.0F ? sheath.from_sheath[colour] / both : 0.0F;
            const float in_light = sheath.whiteness.at<float>(row, column) / core.whiteness;
            place.at<float>(row, column) =
                by_colour * in_colour + (1.0F - by_colour) * std::clamp(in_light, 0.0F, 1.0F);
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

// How the rim of a region is drawn: what is thinner than twice the first, loose fibres and pale tracers that
// touch it, is cut off; then it runs on by the second into what was cut, since core ends in narrow tips.
struct Rim {
    int open_px = 1;
    int tip_px = 0;               // into anything
    int taper_px = 0;             // into what is nowhere thicker farther out
    bool beside_tracers = false;  // as pale as core, and thick enough to look like its tips
};

Rim rim_for(const EvenStrip& strip, const PalePatches& patches, const cv::Mat& seed) {
    // The patch with most of the seeds is core, not a tracer.
    std::vector<int> seeds_of(patches.sizes.size());
    visit_pixels(seed, [&](int row, int column) {
        ++seeds_of[static_cast<std::size_t>(patches.label.at<int>(row, column))];
    });
    const auto core = std::max_element(seeds_of.begin(), seeds_of.end()) - seeds_of.begin();
    const auto tracer = tracer_size(patches, static_cast<int>(core));
    const int tracer_px = tracer ? static_cast<int>(std::ceil(tracer->radius)) : 0;
    const int fibre_px = strip.px(fibre_reach_mm);
    const int tip_px = strip.px(tip_reach_mm);
    if (tracer_px <= fibre_px) return {fibre_px, tip_px, tip_px};
    return {tracer_px, strip.px(tip_reach_beside_tracers_mm), tip_px, true};
}

// Lengthens the mask into what is thinner than it may be, within `all`. A tip of core tapers; a tracer yarn
// that touches the core is joined to it by a neck.
void run_into_tips(const cv::Mat& all, cv::Mat& mask, const Rim& rim) {
    const auto lengthen = [&](cv::Mat& into, int steps) {
        for (int step = 0; step < steps; ++step) {
            cv::dilate(into, into, disc(1));
            into &= all;
        }
    };
    cv::Mat near = mask.clone(), far = mask.clone();
    lengthen(near, rim.tip_px);
    lengthen(far, rim.taper_px);
    cv::Mat label, depth;
    const int tips = cv::connectedComponents(far & ~mask, label, 8, CV_32S);
    cv::distanceTransform(all, depth, cv::DIST_L2, cv::DIST_MASK_3);
    std::vector<float> thick_near(static_cast<std::size_t>(tips)), thick_far(static_cast<std::size_t>(tips));
    visit_pixels(far, [&](int row, int column) {
        auto& thick = near.at<uchar>(row, column) != 0 ? thick_near : thick_far;
        float& most = thick[static_cast<std::size_t>(label.at<int>(row, column))];
        most = std::max(most, depth.at<float>(row, column));
    });
    visit_pixels(far, [&](int row, int column) {
        const auto tip = static_cast<std::size_t>(label.at<int>(row, column));
        if (tip != 0 && thick_far[tip] > thick_near[tip]) far.at<uchar>(row, column) = 0;
    });
    mask = near | far;
}

// The regions above the threshold that hold a seed, grooves closed, holes filled.
std::vector<Contour> grown(const EvenStrip& strip, const cv::Mat& place, const cv::Mat& seed,
                           double threshold, const Rim& rim) {
    cv::Mat all = place > threshold;
    cv::morphologyEx(all, all, cv::MORPH_CLOSE, disc(strip.px(groove_reach_mm)));
    cv::Mat mask;
    cv::morphologyEx(all, mask, cv::MORPH_OPEN, disc(rim.open_px));
    run_into_tips(all, mask, rim);
    std::vector<Contour> contours;
    cv::findContours(mask, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
    std::erase_if(contours, [&](const Contour& contour) {
        return cv::countNonZero(filled({contour}, mask.size()) & seed) == 0;
    });
    return contours;
}

// Whether the step of light from the outer ring to the inner is in the picture, not mostly in what evening
// out made of it: where the edges of sight were misplaced over a part of the rope, it takes sound sheath
// there for as dark as a shadow, and makes it light.
bool is_lighter_in_picture(const EvenStrip& strip, const cv::Mat& inside, const cv::Mat& outside) {
    constexpr double least_share = 0.5;  // of the step on a scale of ratios
    cv::Mat light, in_picture;
    cv::transform(strip.linear, light, cv::Mat(luminance_mix.t()));
    cv::divide(light, strip.gain, in_picture);
    const auto step = [&](const cv::Mat& of) {
        constexpr double dark = 1e-4;
        return std::log(std::max(dark, cv::mean(of, inside)[0]) / std::max(dark, cv::mean(of, outside)[0]));
    };
    return step(in_picture) >= least_share * step(light);
}

// Large enough, solid, sharply bounded, and without the sheath's own colour.
bool is_core(const EvenStrip& strip, const SheathColours& sheath, const cv::Mat& place,
             const Contour& contour) {
    const cv::Mat region = filled({contour}, place.size());
    const double pixels = cv::countNonZero(region);
    if (pixels * strip.mm_per_px * strip.mm_per_px < least_area_mm2) return false;
    Contour hull;
    cv::convexHull(contour, hull);
    if (pixels < least_solidity * cv::contourArea(hull)) return false;

    if (!sheath.own_colour.empty() && cv::mean(sheath.own_colour, region)[0] > largest_own_colour)
        return false;

    // The step from 0.2 to 0.6 mm outside the rim to the same inside.
    const auto ring = [&](cv::MorphTypes way, double mm) {
        cv::Mat moved;
        cv::morphologyEx(region, moved, way, disc(strip.px(mm)));
        return moved;
    };
    const cv::Mat inside = ring(cv::MORPH_ERODE, 0.2) & ~ring(cv::MORPH_ERODE, 0.6) & strip.rope;
    const cv::Mat outside = ring(cv::MORPH_DILATE, 0.6) & ~ring(cv::MORPH_DILATE, 0.2) & strip.rope;
    if (cv::mean(place, inside)[0] - cv::mean(place, outside)[0] < least_rim_step) return false;
    return !sheath.own_colour.empty() || is_lighter_in_picture(strip, inside, outside);
}

// Mean colour of a place.
class MeanColour {
  public:
    void take_in(const cv::Vec3b& bgr) {
        sum_ += cv::Vec3d(bgr);
        count_ += 1;
    }
    [[nodiscard]] bool any() const { return count_ > 0; }
    [[nodiscard]] Lab lab() const {
        const cv::Vec3d mean = sum_ / count_;
        return lab_of({cv::saturate_cast<uchar>(mean[0]), cv::saturate_cast<uchar>(mean[1]),
                       cv::saturate_cast<uchar>(mean[2])});
    }

  private:
    cv::Vec3d sum_;
    double count_ = 0.0;
};

// Whether a region lies at one edge of the rope for half its length and goes on beyond it in the same colour:
// then it is the bench, between two lengths of rope or beside a misplaced edge.
bool goes_on_as_bench(const RopeStrip& strip, const EvenStrip& small, const Contour& contour) {
    constexpr double touching_mm = 0.5, inside_mm = 3.0, clear_mm = 0.3, outside_mm = 1.2, alike = 8.0;
    const cv::Mat region = filled({contour}, small.rope.size());
    const cv::Rect box = cv::boundingRect(contour);
    const auto px = [&](double mm) { return mm / strip.mm_per_px; };
    for (const int side : {-1, 1}) {
        int touching = 0;
        MeanColour inside, outside;
        for (int row = box.y; row < box.y + box.height; ++row) {
            const int whole_row = row * small.factor + small.factor / 2;
            const auto at = static_cast<std::size_t>(whole_row);
            const double edge = side < 0 ? strip.left[at] : strip.right[at];
            if (std::isnan(edge)) continue;
            const auto in_region = [&](double inward_px) {
                const int column =
                    (static_cast<int>(edge - side * inward_px) - small.first_column) / small.factor;
                return column >= 0 && column < region.cols && region.at<uchar>(row, column) != 0;
            };
            if (!in_region(px(touching_mm))) continue;
            ++touching;
            const auto* pixels = strip.bgr.ptr<cv::Vec3b>(whole_row);
            for (double in = px(touching_mm); in <= px(inside_mm); in += 1)
                if (in_region(in)) inside.take_in(pixels[static_cast<int>(edge - side * in)]);
            for (double out = px(clear_mm); out <= px(outside_mm); out += 1) {
                const int column = static_cast<int>(edge + side * out);
                if (column >= 0 && column < strip.bgr.cols) outside.take_in(pixels[column]);
            }
        }
        if (2 * touching >= box.height && inside.any() && outside.any() &&
            ciede2000(inside.lab(), outside.lab()) < alike)
            return true;
    }
    return false;
}

CoreSeen told(CoreSeen::Verdict verdict, std::string remark) {
    CoreSeen result;
    result.verdict = verdict;
    result.remark = std::move(remark);
    return result;
}

CoreSeen measured(const RopeStrip& strip, const EvenStrip& small, const cv::Mat& place, const cv::Mat& seed,
                  const std::vector<Contour>& core, const Rim& rim) {
    const cv::Mat mask = filled(core, place.size());
    const cv::Mat own_seed = seed & mask;
    const auto on_strip = [&](const cv::Mat& region) {
        cv::Mat whole = cv::Mat::zeros(strip.bgr.size(), CV_8U), enlarged;
        cv::resize(region, enlarged, {}, small.factor, small.factor, cv::INTER_NEAREST);
        enlarged.copyTo(whole(cv::Rect(small.first_column, 0, enlarged.cols, enlarged.rows)));
        return whole;
    };
    const auto drawn = [&](const Rim& other) {
        constexpr std::array blunt_rim{RimChoice{usual_rim, Tips::none}};
        return core_rims(strip,
                         on_strip(filled(grown(small, place, own_seed, half_way, other), place.size())),
                         blunt_rim)
            .front();
    };
    CoreSeen result;
    result.mask = on_strip(mask);
    // Beside pale tracers what runs on from the core may be either.
    const Tips surely = rim.beside_tracers ? Tips::none : Tips::to_neck;
    const Tips perhaps = rim.beside_tracers ? Tips::to_neck : Tips::through;
    const std::array choices{RimChoice{usual_rim, surely},
                             RimChoice{darkest_rim, surely},
                             RimChoice{lightest_rim, surely},
                             RimChoice{usual_rim, perhaps},
                             RimChoice{usual_rim, surely, AtLimb::least},
                             RimChoice{usual_rim, surely, AtLimb::most}};
    const std::vector<CoreRim> rims = core_rims(strip, result.mask, choices);
    const CoreRim &middle = rims[0], &wide = rims[1], &narrow = rims[2], &running_on = rims[3],
                  &least = rims[4], &most = rims[5];
    std::array<CoreRim, 2> of_other_rims;
    cv::parallel_for_({0, 2}, [&](const cv::Range& range) {
        for (int i = range.start; i < range.end; ++i)
            of_other_rims[static_cast<std::size_t>(i)] =
                i == 0 ? drawn({rim.open_px, 0, 0}) : drawn({1, 0, 0});
    });
    const auto& [blunt, whole] = of_other_rims;
    const auto between = [](double a, double b, double c) {
        return (std::max({a, b, c}) - std::min({a, b, c})) / (2.0 * std::sqrt(3.0));
    };

    result.verdict = CoreSeen::Verdict::found;
    // What runs on beyond the surely core may be its tip or a tracer: either, as likely as anything between.
    const double run_on_mm = running_on.length_mm - middle.length_mm,
                 run_on_mm2 = running_on.area_mm2 - middle.area_mm2;
    result.area_mm2 = middle.area_mm2 + run_on_mm2 / 2;
    result.length_mm = middle.length_mm + run_on_mm / 2 + hidden_tip_blurs * strip.blur_mm;
    // Rectangular (JCGM 100, 4.3.7).
    const double half_range = 1.0 / (2.0 * std::sqrt(3.0));
    result.area_budget = {
        {tr_later("shade at the rim of the core"), half_range * std::abs(wide.area_mm2 - narrow.area_mm2)},
        {tr_later("tips, fibres and tracers at the rim"),
         std::hypot(between(blunt.area_mm2, middle.area_mm2, whole.area_mm2),
                    half_range * std::abs(run_on_mm2))},
        {tr_later("rim of the core in its blur"), rim_u_mm * middle.perimeter_mm}};
    result.length_budget = {
        {tr_later("shade at the rim of the core"), half_range * std::abs(wide.length_mm - narrow.length_mm)},
        {tr_later("tips, fibres and tracers at the rim"),
         between(blunt.length_mm, middle.length_mm, whole.length_mm)},
        {tr_later("tips too fine to be seen"),
         std::hypot(hidden_tip_u_mm, hidden_tip_u_blurs * strip.blur_mm, half_range * run_on_mm)},
        {tr_later("rim of the core in its blur"), std::sqrt(2.0) * rim_u_mm}};
    result.outlines = middle.outlines;
    if (most.area_mm2 > least.area_mm2) {
        result.least_outlines = least.outlines;
        result.most_outlines = most.outlines;
    }
    return result;
}

// The rows of the strip from the first to the last patch that may be core and may be not.
std::optional<std::pair<int, int>> doubtful_rows(const RopeStrip& strip, const EvenStrip& small,
                                                 const PalePatches& patches, const Standing& standing) {
    int first = small.rope.rows, last = -1;
    visit_pixels(small.rope, [&](int row, int column) {
        const auto label = static_cast<std::size_t>(patches.label.at<int>(row, column));
        if (!standing.doubtful[label] || !small.damaged[static_cast<std::size_t>(row)]) return;
        first = std::min(first, row);
        last = std::max(last, row);
    });
    if (last < 0) return std::nullopt;
    return std::pair(first * small.factor, std::min(strip.bgr.rows, (last + 1) * small.factor));
}

}  // namespace

CoreSeen find_core(const RopeStrip& strip) {
    CV_Assert(strip.bgr.type() == CV_8UC3 && strip.mm_per_px > 0.0);
    CV_Assert(strip.left.size() == static_cast<std::size_t>(strip.bgr.rows) &&
              strip.right.size() == strip.left.size());
    CV_Assert(strip.damaged.empty() || strip.damaged.size() == strip.left.size());

    const auto small = even_out(strip);
    if (!small)
        return told(
            CoreSeen::Verdict::cannot_tell,
            tr_later(
                "cannot tell core by colour, too little undamaged rope is in the picture: look and feel"));
    const SheathColours sheath = learn_sheath(*small, strip.white);
    if (sheath.as_pale_as_core)
        return told(CoreSeen::Verdict::cannot_tell,
                    tr_later("cannot tell core by colour, the sheath is as pale as core: look and feel"));
    const PalePatches patches = pale_patches(sheath.pale, small->pieces);
    const Standing standing = standing_of(*small, patches);
    const cv::Mat seed = seeds(*small, sheath, patches, standing.large);
    if (cv::countNonZero(seed) != 0) {
        const cv::Mat place = place_between(sheath, learn_core(sheath, seed));
        const Rim rim = rim_for(*small, patches, seed);
        std::vector<Contour> core = grown(*small, place, seed, half_way, rim);
        std::erase_if(core, [&](const Contour& contour) { return !is_core(*small, sheath, place, contour); });
        const std::size_t regions = core.size();
        std::erase_if(core, [&](const Contour& contour) { return goes_on_as_bench(strip, *small, contour); });
        if (core.empty() && regions > 0)
            return told(
                CoreSeen::Verdict::cannot_tell,
                tr_later(
                    "cannot tell core by colour, what looks like it goes on beyond the rope's edge as the "
                    "bench: look and feel"));
        if (!core.empty()) {
            CoreSeen found = measured(strip, *small, place, seed, core, rim);
            constexpr double dark_until = 35.0;  // CIELAB lightness: black fibres stay darker than core
            found.grey_sheath = sheath.own_colour.empty() && sheath.mean.L > dark_until;
            return found;
        }
    }
    auto rows = doubtful_rows(strip, *small, patches, standing);
    if (!rows) {
        const PalePatches hardly = pale_patches(hardly_pale(sheath), small->pieces);
        rows = doubtful_rows(strip, *small, hardly, standing_of(*small, hardly));
    }
    if (rows) {
        CoreSeen doubtful =
            told(CoreSeen::Verdict::cannot_tell,
                 tr_later("cannot tell core by colour, what looks pale there may be core, a sheen, paint or "
                          "tape: look and feel there; along the rope"));
        doubtful.remark_rows = rows;
        return doubtful;
    }
    const auto tracer = tracer_size(patches, 0);
    if (tracer && tracer->radius * small->mm_per_px > largest_tracer_radius * small->width_mm)
        return told(
            CoreSeen::Verdict::cannot_tell,
            tr_later("cannot tell core by colour, the tracer yarns are as pale as core: look and feel"));
    return told(CoreSeen::Verdict::none_found,
                tr_later("no core seen by colour: look and feel all the same"));
}

}  // namespace frayhold::gauge
