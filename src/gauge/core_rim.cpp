// SPDX-License-Identifier: Apache-2.0
#include "gauge/core_rim.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <opencv2/imgproc.hpp>

#include "gauge/light.h"
#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

constexpr int fine = 3;  // places a pixel
// What counts as nearby, one standard deviation: core is shaded and soiled towards its rim, sheath is
// patterned.
constexpr double core_nearby_mm = 0.4, sheath_nearby_mm = 1.0;
constexpr double clear_mm = 0.25;  // of the rim, so that blur leaves the light all but pure
// A share below it is the sheath's light, not a dark groove between bundles.
constexpr double sheath_light = 0.15;
constexpr double least_area_mm2 = 1.0;
constexpr double half = 0.5;
// How far beyond a region its tips are followed, and how much wider than a tip the yarn of the sheath is that
// ends it.
constexpr double tip_reach_mm = 8.0, neck_mm = 0.4;

// How far within a limb the bench's light may reach: the blur, two standard deviations, and what the limb may
// be misplaced by.
constexpr double blurs_of_bench = 2.0, limb_u_mm = 0.2;
// Where the bench's own light is seen, from that far beyond a limb.
constexpr double bench_width_mm = 1.0;

using Outline = std::vector<cv::Point2d>;

// Columns of one row, from the first up to but without the last.
struct Columns {
    int from = 0, to = 0;
};

// The part of a strip about a region.
struct Nearby {
    cv::Mat linear;               // CV_32FC3
    cv::Mat rope;                 // CV_8U, 255 between the limbs
    cv::Mat sheath;               // CV_8U, 255 where neither the bench's light nor core taken for it can be
    std::vector<Columns> limbs;   // of each row; empty where the rope has no edges
    std::vector<Columns> within;  // the same between the edges that were found, which may run inside
    double mm_per_px = 0.0;
    int bench_px = 1;  // how far within the limbs the bench's light may reach

    Nearby(const RopeStrip& strip, cv::Rect part)
        : rope(cv::Mat::zeros(part.size(), CV_8U)),
          sheath(cv::Mat::zeros(part.size(), CV_8U)),
          limbs(static_cast<std::size_t>(part.height)),
          within(limbs.size()),
          mm_per_px(strip.mm_per_px),
          bench_px(px(blurs_of_bench * strip.blur_mm + limb_u_mm)) {
        const auto& table = linear_of_srgb();
        const cv::Mat values(1, 256, CV_32F, const_cast<float*>(table.data()));
        cv::LUT(strip.bgr(part), values, linear);
        for (int r = 0; r < part.height; ++r) {
            const std::size_t row = static_cast<std::size_t>(part.y) + static_cast<std::size_t>(r);
            if (std::isnan(strip.left[row]) || std::isnan(strip.right[row])) continue;
            const auto columns = [&](double left, double right) {
                const int from = std::clamp(static_cast<int>(std::ceil(left)) - part.x, 0, part.width);
                return Columns{
                    from, std::clamp(static_cast<int>(std::floor(right)) + 1 - part.x, from, part.width)};
            };
            const auto fill = [&](cv::Mat& mask, Columns in) {
                std::fill(mask.ptr<uchar>(r) + in.from, mask.ptr<uchar>(r) + in.to, uchar{255});
            };
            const auto at = static_cast<std::size_t>(r);
            within[at] = columns(strip.left[row], strip.right[row]);
            limbs[at] = strip.outer_left.empty() ? within[at]
                                                 : columns(strip.outer_left[row], strip.outer_right[row]);
            fill(rope, limbs[at]);
            const int clear_from = std::max(within[at].from, limbs[at].from + bench_px),
                      clear_to = std::min(within[at].to, limbs[at].to - bench_px);
            fill(sheath, {clear_from, std::max(clear_from, clear_to)});
        }
    }
    [[nodiscard]] int px(double mm) const {
        return std::max(1, static_cast<int>(std::lround(mm / mm_per_px)));
    }
};

cv::Mat disc(const Nearby& strip, double mm) {
    const int reach = strip.px(mm);
    return cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * reach + 1, 2 * reach + 1});
}

// The region and what lies no farther from it: of a wide ring faster than by its disc.
cv::Mat with_ring(const Nearby& strip, const cv::Mat& region, double mm) {
    cv::Mat away;
    cv::distanceTransform(region == 0, away, cv::DIST_L2, cv::DIST_MASK_5);
    return away <= strip.px(mm);
}

// The mean light of the mask's pixels nearby, everywhere; far from all of them the usual one.
cv::Mat light_nearby(const Nearby& strip, const cv::Mat& mask, double nearby_mm, const cv::Vec3d& usual) {
    cv::Mat weight, masked = cv::Mat::zeros(strip.linear.size(), CV_32FC3);
    strip.linear.copyTo(masked, mask);
    mask.convertTo(weight, CV_32F, 1.0 / 255);
    // What is smoothed so far loses nothing by being looked at on a coarser grid.
    const double sigma = nearby_mm / strip.mm_per_px;
    constexpr double finest_sigma = 2.0;
    const double fold = std::max(1.0, std::floor(sigma / finest_sigma));
    const cv::Size coarse(cvCeil(mask.cols / fold), cvCeil(mask.rows / fold));
    const auto smooth = [&](const cv::Mat& values) {
        cv::Mat small, whole;
        cv::resize(values, small, coarse, 0, 0, cv::INTER_AREA);
        cv::GaussianBlur(small, small, {}, sigma / fold);
        cv::resize(small, whole, values.size(), 0, 0, cv::INTER_LINEAR);
        return whole;
    };
    const cv::Mat sum = smooth(masked);
    weight = smooth(weight);
    constexpr double next_to_none = 1e-6;
    weight += next_to_none;
    cv::Mat weights;
    cv::merge(std::vector<cv::Mat>(3, weight), weights);
    return (sum + next_to_none * cv::Scalar(usual[0], usual[1], usual[2])) / weights;
}

// What the light of the rim is doubted by, one standard deviation each: noise and coding, of full light; the
// shade on the core, of its own light; the sheath's tone there, of its own.
constexpr double noise_u = 0.02, shade_u = 0.2, tone_u = 0.2;
// A core shaded down to less than this many times the sheath's lightness would not be told from it by light.
constexpr double least_contrast = 1.3;

// Of the core's own light, what a pixel at the rim must hold at the least: half of it is core, shaded to two
// fifths. And of its own light, what may be of neither hue. A tracer yarn, black or bright, is neither.
constexpr double least_light = 0.2, most_foreign = 0.3;

// Nearby, a tracer may be most of the sheath or, where the region ran into it, of the core: what they are all
// about the region, by the median.
struct UsualLight {
    cv::Vec3d sheath, core;
};

// Whether the light has the hue of a mixture of both.
bool of_either(const cv::Vec3d& light, const UsualLight& usual) {
    const auto& [sheath, core] = usual;
    cv::Vec3d left = light - core * (light.dot(core) / std::max(1e-9, core.dot(core)));
    const cv::Vec3d hue = sheath - core * (sheath.dot(core) / std::max(1e-9, core.dot(core)));
    // Sheath of its usual light, or lit half as much again; next to none where it is black.
    constexpr double most_sheath = 1.5, next_to_none = 1e-9;
    left -= hue * std::clamp(left.dot(hue) / std::max(next_to_none, hue.dot(hue)), 0.0, most_sheath);
    return cv::norm(left) < most_foreign * cv::norm(light);
}

bool may_be_rim(const cv::Vec3d& light, const UsualLight& usual) {
    return cv::norm(light) >= least_light * cv::norm(usual.core) && of_either(light, usual);
}

// The mask without tracer yarns, bright or black.
cv::Mat without_tracers(const Nearby& strip, const cv::Mat& mask, const UsualLight& usual) {
    constexpr double darkest = 0.4;  // of the sheath's usual light: a groove between its yarns
    cv::Mat plain = cv::Mat::zeros(mask.size(), CV_8U);
    for (int row = 0; row < mask.rows; ++row)
        for (int column = 0; column < mask.cols; ++column) {
            if (mask.at<uchar>(row, column) == 0) continue;
            const cv::Vec3d light(strip.linear.at<cv::Vec3f>(row, column));
            if (cv::norm(light) >= darkest * cv::norm(usual.sheath) && of_either(light, usual))
                plain.at<uchar>(row, column) = 255;
        }
    return plain;
}

cv::Vec3d median_light(const Nearby& strip, const cv::Mat& mask) {
    std::array<std::vector<float>, 3> values;
    for (int row = 0; row < mask.rows; ++row)
        for (int column = 0; column < mask.cols; ++column)
            if (mask.at<uchar>(row, column) != 0)
                for (std::size_t i = 0; i < 3; ++i)
                    values[i].push_back(strip.linear.at<cv::Vec3f>(row, column)[static_cast<int>(i)]);
    if (values[0].empty()) return {};
    return {quantile(values[0], 0.5), quantile(values[1], 0.5), quantile(values[2], 0.5)};
}

// Pale bench, mixed into the sheath along a limb, looks like core there. Core reaches a limb from within:
// where what is more of sheath than of core lies between, what lies farther out is none.
void end_at_sheath(const Nearby& strip, cv::Mat& share) {
    for (int row = 0; row < share.rows; ++row) {
        auto* here = share.ptr<float>(row);
        const auto [from, to] = strip.limbs[static_cast<std::size_t>(row)];
        const int band = std::min(strip.bench_px, (to - from - 1) / 2);
        const auto outward = [&](int first, int way) {
            bool ended = false;
            for (int i = 0, column = first; i <= band; ++i, column += way) {
                ended = ended || here[column] < sheath_light;
                if (ended) here[column] = std::min(here[column], here[column - (i > 0 ? way : 0)]);
            }
        };
        if (band <= 0) continue;
        outward(from + band, -1);
        outward(to - 1 - band, 1);
    }
}

// How much of a pixel's light is core's, of light `lit` where nothing shades it and here shaded down to
// `shade`; the rest is that of the sheath, `from`.
double share_in_mixture(const cv::Vec3d& light, const cv::Vec3d& from, const cv::Vec3d& lit, double shade) {
    constexpr double dark = 1e-3, least = 1e-6;
    const double ratio = cv::norm(from) / std::max(dark, cv::norm(lit));
    const cv::Vec3d to = std::max(shade, std::min(1.0, least_contrast * ratio)) * lit;
    // At the rim half the light is of each.
    const cv::Vec3d by_shade = 0.5 * shade_u * lit, by_tone = 0.5 * tone_u * from;
    const cv::Matx33d covariance =
        noise_u * noise_u * cv::Matx33d::eye() + by_shade * by_shade.t() + by_tone * by_tone.t();
    const cv::Vec3d step = to - from, weights = covariance.inv() * step;
    const double size = weights.dot(step);
    return size > least ? weights.dot(light - from) / size : 0.0;
}

// What core and sheath look like about a region.
struct Looks {
    UsualLight usual;
    cv::Mat core;                   // CV_32FC3, nearby, at each pixel
    std::array<cv::Mat, 2> sheath;  // the same, with tracer yarns and without

    Looks(const Nearby& strip, const cv::Mat& region) {
        cv::Mat inside, beside;
        cv::erode(region, inside, disc(strip, clear_mm));
        if (cv::countNonZero(inside) == 0) inside = region;
        cv::dilate(region, beside, disc(strip, clear_mm));
        cv::Mat ring = with_ring(strip, region, 2 * sheath_nearby_mm) & ~beside & strip.sheath;
        // A sliver between the region and a limb may be core as well.
        cv::morphologyEx(ring, ring, cv::MORPH_OPEN, disc(strip, clear_mm));
        usual = {median_light(strip, ring), median_light(strip, inside)};
        core = light_nearby(strip, inside, core_nearby_mm, usual.core);
        sheath = {light_nearby(strip, ring, sheath_nearby_mm, usual.sheath),
                  light_nearby(strip, without_tracers(strip, ring, usual), sheath_nearby_mm, usual.sheath)};
    }
};

// How much of each pixel's light is that of core shaded down to `shade`: 0 the sheath nearby, 1 the core
// nearby. By the three colours weighed for least variance (Aitken 1935), so that where the sheath has a hue
// the shade hardly counts.
// Beside a tracer yarn the sheath is of two colours, and their mean may lie nearer to core than either, or
// farther from it: what is core is more so than against the one and the other.
cv::Mat share_of_core(const Nearby& strip, const Looks& looks, double shade) {
    cv::Mat share = cv::Mat::zeros(strip.rope.size(), CV_32F);
    for (int row = 0; row < share.rows; ++row)
        for (int column = 0; column < share.cols; ++column) {
            if (strip.rope.at<uchar>(row, column) == 0) continue;
            const cv::Vec3d light(strip.linear.at<cv::Vec3f>(row, column));
            if (!may_be_rim(light, looks.usual)) continue;
            const cv::Vec3d lit(looks.core.at<cv::Vec3f>(row, column));
            const auto against = [&](const cv::Mat& sheath) {
                return share_in_mixture(light, cv::Vec3d(sheath.at<cv::Vec3f>(row, column)), lit, shade);
            };
            share.at<float>(row, column) =
                static_cast<float>(std::min(against(looks.sheath[0]), against(looks.sheath[1])));
        }
    return share;
}

// Rows along which the light of the bench beside a limb, or a mixture of it and the sheath's as blur makes
// them along the limb, looks like core.
struct PaleBench {
    std::vector<char> left, right;
};

PaleBench pale_bench(const Nearby& strip, const UsualLight& usual, double shade) {
    const auto looks_like_core = [&](const cv::Vec3d& bench) {
        for (const double part : {0.25, 0.5, 0.75, 1.0}) {
            const cv::Vec3d light = part * bench + (1 - part) * usual.sheath;
            if (may_be_rim(light, usual) && share_in_mixture(light, usual.sheath, usual.core, shade) > half)
                return true;
        }
        return false;
    };
    PaleBench pale;
    for (int row = 0; row < strip.linear.rows; ++row) {
        const auto* here = strip.linear.ptr<cv::Vec3f>(row);
        const auto [from, to] = strip.limbs[static_cast<std::size_t>(row)];
        const auto is_pale = [&](int first, int last) {
            const Columns in{std::clamp(first, 0, strip.linear.cols), std::clamp(last, 0, strip.linear.cols)};
            if (from >= to || in.from >= in.to) return false;
            cv::Vec3d sum;
            for (int column = in.from; column < in.to; ++column) sum += cv::Vec3d(here[column]);
            return looks_like_core(sum / (in.to - in.from));
        };
        const int clear = strip.bench_px, beside = clear + strip.px(bench_width_mm);
        pale.left.push_back(is_pale(from - beside, from - clear));
        pale.right.push_back(is_pale(to + clear, to + beside));
    }
    return pale;
}

// Of each row what a pale bench makes doubtful: as far within the limb as its light may reach, and what lies
// beyond the edge that was found.
cv::Mat doubtful_at_limbs(const Nearby& strip, const PaleBench& pale) {
    cv::Mat doubtful = cv::Mat::zeros(strip.rope.size(), CV_8U);
    for (int row = 0; row < doubtful.rows; ++row) {
        const auto at = static_cast<std::size_t>(row);
        const Columns limbs = strip.limbs[at], within = strip.within[at];
        auto* here = doubtful.ptr<uchar>(row);
        if (pale.left[at] != 0)
            std::fill(here + limbs.from,
                      here + std::min(limbs.to, std::max(limbs.from + strip.bench_px, within.from)),
                      uchar{255});
        if (pale.right[at] != 0)
            std::fill(here + std::max(limbs.from, std::min(limbs.to - strip.bench_px, within.to)),
                      here + limbs.to, uchar{255});
    }
    return doubtful;
}

// The parts of the mask that touch the region.
cv::Mat touching(const cv::Mat& mask, const cv::Mat& region) {
    cv::Mat label;
    const int parts = cv::connectedComponents(mask, label, 8, CV_32S);
    std::vector<char> touches(static_cast<std::size_t>(parts));
    for (int row = 0; row < mask.rows; ++row)
        for (int column = 0; column < mask.cols; ++column)
            if (region.at<uchar>(row, column) != 0)
                touches[static_cast<std::size_t>(label.at<int>(row, column))] = 1;
    cv::Mat kept = cv::Mat::zeros(mask.size(), CV_8U);
    for (int row = 0; row < mask.rows; ++row)
        for (int column = 0; column < mask.cols; ++column) {
            const int part = label.at<int>(row, column);
            if (part != 0 && touches[static_cast<std::size_t>(part)] != 0) kept.at<uchar>(row, column) = 255;
        }
    return kept;
}

// A region and what it is held against, whatever rim is asked for.
struct Surroundings {
    cv::Point origin;  // of the strip
    Nearby near;
    cv::Mat here;  // the region, CV_8U
    Looks looks;

    Surroundings(const RopeStrip& strip, const cv::Mat& region)
        : Surroundings(strip, region, part_about(strip, region)) {}

  private:
    Surroundings(const RopeStrip& strip, const cv::Mat& region, cv::Rect part)
        : origin(part.tl()), near(strip, part), here(region(part)), looks(near, here) {}

    // Only about the region: the rest of the strip is larger by far.
    static cv::Rect part_about(const RopeStrip& strip, const cv::Mat& region) {
        const auto px = [&](double mm) { return static_cast<int>(std::ceil(mm / strip.mm_per_px)); };
        const int room = px(4 * sheath_nearby_mm), room_along = room + px(tip_reach_mm);
        return (cv::boundingRect(region) + cv::Size(2 * room, 2 * room_along) - cv::Point(room, room_along)) &
               cv::Rect({}, region.size());
    }
};

// The shares of core about a region, finer than the strip, and where the rim may run.
struct FineShares {
    cv::Mat shares;    // CV_32F
    cv::Mat allowed;   // CV_8U
    cv::Mat sure;      // CV_8U
    cv::Mat given;     // CV_8U, the region itself
    cv::Point origin;  // of the strip
    double mm_a_place = 0.0;

    // doubtful: where a pale bench may pass for core; empty where no bench does.
    FineShares(const Surroundings& about, const RimChoice& choice, const cv::Mat& doubtful)
        : origin(about.origin), mm_a_place(about.near.mm_per_px / fine) {
        const Nearby& near = about.near;
        const cv::Mat& here = about.here;
        cv::Mat coarse = share_of_core(near, about.looks, choice.shade);
        cv::Mat coarse_allowed, coarse_sure;
        cv::dilate(here, coarse_allowed, disc(near, core_rim_reach_mm));
        cv::erode(here, coarse_sure, disc(near, core_rim_reach_mm));
        const auto end_at_limbs = [&] {
            end_at_sheath(near, coarse);
            if (choice.at_limb == AtLimb::least) coarse.setTo(0.0, doubtful);
        };
        end_at_limbs();
        if (choice.at_limb == AtLimb::most)
            coarse_allowed |= touching(doubtful & (coarse > half), coarse_allowed);
        coarse_allowed &= near.rope;
        coarse_sure &= coarse > sheath_light;
        if (choice.tips != Tips::none) {
            const cv::Mat blunt = ((coarse > half) & coarse_allowed) | coarse_sure;
            const cv::Mat longer = with_tips(blunt, (coarse > half) & near.rope,
                                             {choice.tips, near.px(tip_reach_mm), near.px(neck_mm)});
            // What a tip shows is core, no sheath to hold the rest against.
            coarse = share_of_core(near, Looks(near, here | longer), choice.shade);
            end_at_limbs();
            cv::Mat along_tips;
            cv::dilate(longer, along_tips, disc(near, near.mm_per_px));
            coarse_allowed |= along_tips & near.rope;
        }
        const cv::Size size(here.cols * fine, here.rows * fine);
        cv::resize(coarse, shares, size, 0, 0, cv::INTER_CUBIC);
        cv::resize(coarse_allowed, allowed, size, 0, 0, cv::INTER_NEAREST);
        cv::resize(coarse_sure, sure, size, 0, 0, cv::INTER_NEAREST);
        cv::resize(here, given, size, 0, 0, cv::INTER_NEAREST);
    }

    // Where the share passes a half; each part's holes left out of account.
    [[nodiscard]] std::vector<Outline> rim() const {
        std::vector<Outline> outlines = around(((shares > half) & allowed) | sure);
        return outlines.empty() ? around(given) : outlines;
    }

    [[nodiscard]] std::vector<Outline> around(const cv::Mat& mask) const {
        std::vector<std::vector<cv::Point>> contours;
        cv::findContours(mask, contours, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
        std::vector<Outline> outlines;
        for (const auto& contour : contours) {
            if (cv::contourArea(contour) * mm_a_place * mm_a_place < least_area_mm2) continue;
            // The contour runs through the middles of the outermost places: out by half a place.
            const Outline middles(contour.begin(), contour.end());
            const double turn = signed_area(middles) > 0 ? 0.5 : -0.5;
            Outline& outline = outlines.emplace_back();
            const std::size_t n = middles.size();
            for (std::size_t i = 0; i < n; ++i) {
                const cv::Point2d along = middles[(i + 1) % n] - middles[(i + n - 1) % n];
                const cv::Point2d outward = cv::Point2d(along.y, -along.x) / std::max(1.0, cv::norm(along));
                outline.push_back(middles[i] + turn * outward);
            }
        }
        return outlines;
    }

    static double signed_area(const Outline& outline) {
        double twice = 0.0;
        for (std::size_t i = 0; i < outline.size(); ++i)
            twice += outline[i].cross(outline[(i + 1) % outline.size()]);
        return twice / 2;
    }
};

CoreRim described(const FineShares& shares, const std::vector<Outline>& outlines) {
    CoreRim rim;
    double first = std::numeric_limits<double>::infinity(), last = -first;
    const double mm = shares.mm_a_place;
    for (const Outline& outline : outlines) {
        rim.area_mm2 += std::abs(FineShares::signed_area(outline)) * mm * mm;
        for (std::size_t i = 0; i < outline.size(); ++i) {
            rim.perimeter_mm += cv::norm(outline[(i + 1) % outline.size()] - outline[i]) * mm;
            first = std::min(first, outline[i].y);
            last = std::max(last, outline[i].y);
        }
        auto& placed = rim.outlines.emplace_back();
        constexpr std::size_t every = 2;
        for (std::size_t i = 0; i < outline.size(); i += every)
            placed.emplace_back((outline[i].x + 0.5) / fine - 0.5 + shares.origin.x,
                                (outline[i].y + 0.5) / fine - 0.5 + shares.origin.y);
    }
    rim.length_mm = std::max(0.0, last - first) * mm;
    return rim;
}

}  // namespace

std::vector<CoreRim> core_rims(const RopeStrip& strip, const cv::Mat& region,
                               std::span<const RimChoice> choices) {
    const Surroundings about(strip, region);
    struct Asked {
        RimChoice choice;
        cv::Mat doubtful;
    };
    std::vector<Asked> asked;
    std::vector<std::size_t> asked_by;  // of each choice
    for (RimChoice choice : choices) {
        cv::Mat doubtful;
        if (choice.at_limb != AtLimb::as_seen)
            doubtful = doubtful_at_limbs(about.near, pale_bench(about.near, about.looks.usual, choice.shade));
        // Without a pale bench the rim is the same wherever the limb is said to be.
        if (doubtful.empty() || cv::countNonZero(doubtful) == 0) choice.at_limb = AtLimb::as_seen;
        const auto same = std::find_if(asked.begin(), asked.end(),
                                       [&](const Asked& other) { return other.choice == choice; });
        asked_by.push_back(static_cast<std::size_t>(same - asked.begin()));
        if (same == asked.end()) asked.push_back({choice, doubtful});
    }
    std::vector<CoreRim> rims(asked.size());
    cv::parallel_for_({0, static_cast<int>(asked.size())}, [&](const cv::Range& range) {
        for (auto i = static_cast<std::size_t>(range.start); i < static_cast<std::size_t>(range.end); ++i) {
            const FineShares shares(about, asked[i].choice, asked[i].doubtful);
            rims[i] = described(shares, shares.rim());
        }
    });
    std::vector<CoreRim> out;
    out.reserve(asked_by.size());
    for (const std::size_t i : asked_by) out.push_back(rims[i]);
    return out;
}

}  // namespace frayhold::gauge
