// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_borders.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

// How far every column is from the bench, as if by more than its own shadow: in hue and roughness either way,
// in lightness only upward. In standard deviations of single stations of bench.
std::vector<double> unlike_bench(const ColumnLooks& looks, const std::vector<std::size_t>& bench_columns) {
    using Look = ColumnLooks::Look;
    Look bench, bench_square;
    double bench_count = 0.0;
    for (const std::size_t i : bench_columns) {
        bench += looks.mean[i] * looks.count[i];
        bench_square += looks.square[i];
        bench_count += looks.count[i];
    }
    std::vector<double> unlike(looks.mean.size(), 0.0);
    constexpr double least_count = 100;
    if (bench_count < least_count) return unlike;
    bench /= bench_count;
    bench_square /= bench_count;
    // Light from all round may be of another hue than the lamp's, and the foot of a shadow is smoother than
    // the bench.
    const Look floor(0.06, 0.06, 0.5, 0.3);
    for (std::size_t i = 0; i < unlike.size(); ++i) {
        if (looks.count[i] == 0) continue;
        double sum = 0.0;
        for (int k = 0; k < ColumnLooks::parts; ++k) {
            double off = looks.mean[i][k] - bench[k];
            if (k == 3) off = std::max(off, 0.0);
            sum += off * off / (bench_square[k] - bench[k] * bench[k] + floor[k] * floor[k]);
        }
        unlike[i] = std::sqrt(sum);
    }
    return unlike;
}

// A border found may be a stripe's: the bench is looked at from well outside it.
constexpr double most_margin_mm = 9.0;

std::vector<std::size_t> bench_beside(const Strip& strip, double found_mm, double side) {
    constexpr double bench_mm = 5.0;
    return columns_between(strip, side * (found_mm + most_margin_mm),
                           side * (found_mm + most_margin_mm + bench_mm));
}

// What columns of bench look like on the mean of all stations, where much less is plain than at one.
class MeanBench {
  public:
    MeanBench(const ColumnLooks& looks, const std::vector<std::size_t>& columns) {
        const auto n = static_cast<double>(std::max<std::size_t>(1, columns.size()));
        for (const std::size_t i : columns) mean_ += looks.mean[i] / n;
        for (const std::size_t i : columns)
            scatter_ += (looks.mean[i] - mean_).mul(looks.mean[i] - mean_) / n;
    }
    // In hue and roughness, which a shadow changes little, in standard deviations.
    [[nodiscard]] double unlike(const ColumnLooks::Look& look) const {
        const ColumnLooks::Look floor(0.006, 0.006, 0.1), off = look - mean_;
        double sum = 0.0;
        for (int k = 0; k < 3; ++k) sum += off[k] * off[k] / (scatter_[k] + floor[k] * floor[k]);
        return std::sqrt(sum);
    }

  private:
    ColumnLooks::Look mean_, scatter_;
};

// Webbing much like the bench is told from it by its ribs: the threads along it stand in the columns' mean
// light as a row of light and dark lines, and neither a shadow nor a stain has those. Gives how far out from
// the border found the ribs go on, 0 where there are none, ending half-way down in hue and roughness.
double ribs_beyond(const Strip& strip, const ColumnLooks& looks, double found_mm, double side) {
    constexpr double reach_mm = 0.9, step_from_border_mm = 0.3, most_mm = 8.0, most_gap_mm = 1.6;
    const auto column = [&](double outward_mm) {
        return static_cast<std::size_t>(std::clamp(
            static_cast<int>(std::lround(strip.column_at(side * outward_mm))), 0, strip.bgr.cols - 1));
    };
    const auto reach = static_cast<std::size_t>(std::lround(reach_mm / strip.mm_per_px));
    const auto rib = [&](std::size_t i) {
        const std::size_t from = i > reach ? i - reach : 0, to = std::min(looks.mean.size() - 1, i + reach);
        double around = 0.0;
        for (std::size_t k = from; k <= to; ++k) around += looks.mean[k][3];
        return looks.mean[i][3] - around / static_cast<double>(to - from + 1);
    };
    const auto bench_columns = bench_beside(strip, found_mm, side);
    if (bench_columns.empty()) return 0.0;
    const MeanBench bench(looks, bench_columns);
    double flat = 0.0;
    for (const std::size_t i : bench_columns) flat += rib(i) * rib(i);
    const auto n = static_cast<double>(bench_columns.size());
    constexpr double least_rib = 0.05, plain = 6.0;
    const double enough = std::max(least_rib, plain * std::sqrt(flat / n));
    // Alternately light and dark, none far from the last.
    constexpr int least_ribs = 4;
    int ribs = 0;
    double sign = 0.0, last_mm = found_mm + step_from_border_mm;
    for (double u = last_mm; u < found_mm + most_mm && u - last_mm < most_gap_mm; u += strip.mm_per_px) {
        const double height = rib(column(u));
        if (std::abs(height) < enough) continue;
        if (height * sign <= 0) ++ribs;
        sign = height;
        last_mm = u;
    }
    if (ribs < least_ribs) return 0.0;
    const auto unlike = [&](double outward_mm) { return bench.unlike(looks.mean[column(outward_mm)]); };
    constexpr double within_mm = 1.5, beyond_mm = 0.5;
    double most = 0.0;
    for (double u = last_mm; u > last_mm - within_mm; u -= strip.mm_per_px) most = std::max(most, unlike(u));
    double t = last_mm + beyond_mm;
    while (t > found_mm && unlike(t) < most / 2) t -= strip.mm_per_px;
    return t + strip.mm_per_px / 2 - found_mm;
}

// How much every column looks as the webbing does on the mean across it, 1, rather than as the bench does, 0:
// in hue and roughness, for in lightness a shadow may pass for the one and a stripe for the other. Empty
// where both look so much alike that a shadow might pass for webbing in those too.
std::vector<double> like_webbing(const ColumnLooks& looks, const std::vector<std::size_t>& web_columns,
                                 const std::vector<std::size_t>& bench_columns) {
    using Look = ColumnLooks::Look;
    if (web_columns.empty() || bench_columns.empty()) return {};
    const auto usual = [&](const std::vector<std::size_t>& columns) {
        Look look;
        for (int k = 0; k < ColumnLooks::parts; ++k) {
            std::vector<double> values;
            for (const std::size_t i : columns) values.push_back(looks.mean[i][k]);
            look[k] = median(std::move(values));
        }
        return look;
    };
    const Look bench = usual(bench_columns), web = usual(web_columns);
    // What a shadow and the light that falls into it change.
    const Look floor(0.04, 0.04, 0.2);
    Look toward;
    double apart2 = 0.0;
    for (int k = 0; k < 3; ++k) {
        toward[k] = (web[k] - bench[k]) / (floor[k] * floor[k]);
        apart2 += toward[k] * (web[k] - bench[k]);
    }
    constexpr double least_apart = 3.0;
    if (apart2 < least_apart * least_apart) return {};
    std::vector<double> like(looks.mean.size());
    for (std::size_t i = 0; i < like.size(); ++i)
        like[i] = looks.count[i] > 0 ? (looks.mean[i] - bench).dot(toward) / apart2 : 0.0;
    return like;
}

// Where the middle of the webbing's stripes lies within the borders found: webbing is woven alike on both
// sides, so that hue is mirrored about it. Empty where no place is plainly the middle and plainly better than
// half-way between the borders.
std::optional<double> mirror_of_stripes(const Strip& strip, const ColumnLooks& looks, double half_mm) {
    constexpr double clear_of_edge_mm = 0.5, least_hue = 0.2, plainly = 0.2;
    const auto hue = [&](double across_mm) {
        const auto i = static_cast<std::size_t>(
            std::clamp(static_cast<int>(std::lround(strip.column_at(across_mm))), 0, strip.bgr.cols - 1));
        return cv::Vec2d(looks.mean[i][0], looks.mean[i][1]);
    };
    const double inside_mm = half_mm - clear_of_edge_mm, most_mm = std::min(3.5, inside_mm / 2);
    cv::Vec2d sum, squares;
    double n = 0.0;
    for (double u = -inside_mm; u < inside_mm; u += strip.mm_per_px) {
        sum += hue(u);
        squares += hue(u).mul(hue(u));
        n += 1.0;
    }
    const cv::Vec2d spread = squares / n - (sum / n).mul(sum / n);
    const double contrast = spread[0] + spread[1];
    if (!(contrast > least_hue * least_hue)) return std::nullopt;
    // Mean square between mirrored columns, twice the contrast where they have nothing to do with each other.
    const auto unlike = [&](double middle_mm) {
        double off = 0.0, pairs = 0.0;
        for (double u = strip.mm_per_px; u < inside_mm - std::abs(middle_mm); u += strip.mm_per_px) {
            const cv::Vec2d between = hue(middle_mm + u) - hue(middle_mm - u);
            off += between.dot(between);
            pairs += 1.0;
        }
        return off / pairs / (2 * contrast);
    };
    double best_mm = 0.0;
    for (double m = -most_mm; m <= most_mm; m += strip.mm_per_px)
        if (unlike(m) < unlike(best_mm)) best_mm = m;
    if (unlike(best_mm) > plainly || unlike(best_mm) > plainly * unlike(0.0)) return std::nullopt;
    return best_mm;
}

// Whether most columns between two distances outward on one side are plainly no bench.
bool no_bench(const Strip& strip, const ColumnLooks& looks, double found_mm, double side, double from_mm,
              double to_mm) {
    const MeanBench bench(looks, bench_beside(strip, found_mm, side));
    const auto columns = columns_between(strip, side * from_mm, side * to_mm);
    constexpr double plain = 3.0;
    const auto plainly = std::count_if(columns.begin(), columns.end(),
                                       [&](std::size_t i) { return bench.unlike(looks.mean[i]) > plain; });
    return 4 * static_cast<std::size_t>(plainly) > 3 * columns.size();
}

}  // namespace

ColumnLooks column_looks(const Strip& strip, const StationLight& light) {
    constexpr float dark = 0.01F, smooth = 0.02F;
    const auto columns = static_cast<std::size_t>(strip.bgr.cols);
    ColumnLooks looks{std::vector<ColumnLooks::Look>(columns), std::vector<ColumnLooks::Look>(columns),
                      std::vector<double>(columns, 0.0)};
    for (int s = 0; s < light.mean.rows; ++s) {
        const auto* row = light.mean.ptr<cv::Vec3f>(s);
        const auto* rough = light.roughness.ptr<float>(s);
        const auto* seen = light.seen.ptr<float>(s);
        for (int c = 0; c < strip.bgr.cols; ++c) {
            if (seen[c] < 0.5F) continue;
            const double b = std::log(row[c][0] + dark), g = std::log(row[c][1] + dark),
                         r = std::log(row[c][2] + dark);
            const ColumnLooks::Look look((r - b) / std::sqrt(2.0), (2 * g - r - b) / std::sqrt(6.0),
                                         std::log(rough[c] + smooth), (b + g + r) / std::sqrt(3.0));
            const auto i = static_cast<std::size_t>(c);
            looks.mean[i] += look;
            looks.square[i] += look.mul(look);
            looks.count[i] += 1.0;
        }
    }
    for (std::size_t i = 0; i < columns; ++i)
        if (looks.count[i] > 0) looks.mean[i] /= looks.count[i];
    return looks;
}

std::vector<std::size_t> columns_between(const Strip& strip, double from_mm, double to_mm) {
    std::vector<std::size_t> columns;
    for (int c = 0; c < strip.bgr.cols; ++c) {
        const double across = strip.across_mm(c);
        if (across > std::min(from_mm, to_mm) && across < std::max(from_mm, to_mm))
            columns.push_back(static_cast<std::size_t>(c));
    }
    return columns;
}

OutermostEdge outermost_edge(const Strip& strip, const ColumnLooks& looks, double found_mm, double side) {
    constexpr double plain = 2.5, most_inward_mm = 2.5, blur_reach_mm = 0.7;
    const auto bench_columns = bench_beside(strip, found_mm, side);
    const auto unlike = unlike_bench(looks, bench_columns);
    constexpr double clear_of_edge_mm = 1.0;
    const auto like =
        like_webbing(looks, columns_between(strip, clear_of_edge_mm - found_mm, found_mm - clear_of_edge_mm),
                     bench_columns);
    const auto column = [&](double outward_mm) {
        return static_cast<std::size_t>(std::clamp(
            static_cast<int>(std::lround(strip.column_at(side * outward_mm))), 0, strip.bgr.cols - 1));
    };
    const auto at = [&](double outward_mm) { return unlike[column(outward_mm)]; };
    // A shadow on a bench of even colour is somewhat unlike it, but far less so than the webbing beside it:
    // the plain webbing, for a stripe may be of a far stronger colour.
    constexpr double shadow_share = 1.0 / 6;
    std::vector<double> across;
    for (double u = found_mm; u > -found_mm; u -= strip.mm_per_px) across.push_back(at(u));
    // Webbing that is itself hardly plainer than that is told from a shadow by being as unlike the bench near
    // its edges as between them.
    constexpr double much_the_same = 0.5, least_unlike = 0.5;
    const double usual = median(std::move(across));
    const double enough = usual < 2 * plain ? std::max(least_unlike, much_the_same * usual)
                                            : std::max(plain, shadow_share * usual);
    // Over a little more than a rib, so that a mark of the bench's own is not taken for webbing.
    constexpr double rib_mm = 0.5;
    const auto woven = [&](double outward_mm) {
        if (like.empty()) return false;
        for (double u = outward_mm; u > outward_mm - rib_mm; u -= strip.mm_per_px)
            if (like[column(u)] < 0.5) return false;
        return true;
    };
    const auto plainest_within = [&](double outward_mm) {
        double most = 0.0;
        for (double u = outward_mm; u > outward_mm - blur_reach_mm; u -= strip.mm_per_px)
            most = std::max(most, at(u));
        return most;
    };
    // A shadow so deep that it passes for webbing grows so slowly; the border is beyond it.
    constexpr double slow_mm = 0.8, slow = 1.0 / 3, far_plainer = 2.0;
    double t = found_mm + most_margin_mm, least = enough;
    for (; t > found_mm - most_inward_mm && !woven(t); t -= strip.mm_per_px) {
        if (at(t) < least) continue;
        const double here = plainest_within(t);
        if (here > much_the_same * usual || at(t + slow_mm) < slow * here) break;
        least = far_plainer * here;
    }
    if (!woven(t)) {
        double most = plainest_within(t);
        // A stripe may begin there, of a far stronger colour than the webbing outside it.
        most = std::min(most, usual);
        while (t > found_mm - most_inward_mm && at(t) < most / 2) t -= strip.mm_per_px;
    }
    const bool told = !like.empty();
    if (t <= found_mm - most_inward_mm) return {found_mm, told};
    constexpr double much_inward_mm = 0.7, somewhat_unlike = 1.5;
    if (t < found_mm - much_inward_mm &&
        (like.empty() ? at(found_mm - much_inward_mm) > somewhat_unlike : woven(found_mm - much_inward_mm)))
        return {found_mm, told};
    return {t + strip.mm_per_px / 2, told};
}

WebBorders outermost_borders(const Strip& strip, const StationLight& light, double width_mm) {
    const ColumnLooks looks = column_looks(strip, light);
    const double half_mm = width_mm / 2;
    const OutermostEdge left = outermost_edge(strip, looks, half_mm, -1.0),
                        right = outermost_edge(strip, looks, half_mm, 1.0);
    WebBorders borders{left.at_mm, right.at_mm};
    // Webbing is woven alike on both sides. Where ribs go on beyond what was found on one side only, that was
    // the outer border of a stripe there, and an edge on the other side, or one between the stripe and it:
    // the stripes' middle tells which.
    constexpr double alike_mm = 1.5;
    const double left_ribs = ribs_beyond(strip, looks, half_mm, -1.0),
                 right_ribs = ribs_beyond(strip, looks, half_mm, 1.0);
    if (std::min(left_ribs, right_ribs) > stripe_mm && std::abs(left_ribs - right_ribs) < alike_mm) {
        borders.left_mm = std::max(borders.left_mm, half_mm + left_ribs);
        borders.right_mm = std::max(borders.right_mm, half_mm + right_ribs);
    } else if (const auto mirror_mm = mirror_of_stripes(strip, looks, half_mm)) {
        const auto mirrored = [&](double side, double ribs_mm, double& here_mm, double& there_mm) {
            const double as_there_mm = 2 * side * *mirror_mm;
            if (as_there_mm < stripe_mm) return;
            const double there_by_ribs_mm = half_mm + ribs_mm - as_there_mm;
            if (there_by_ribs_mm > there_mm + stripe_mm &&
                no_bench(strip, looks, half_mm, -side, half_mm, there_by_ribs_mm)) {
                here_mm = half_mm + ribs_mm;
                there_mm = there_by_ribs_mm;
            } else
                here_mm = std::max(here_mm, half_mm + as_there_mm);
        };
        if (left_ribs > std::max(stripe_mm, right_ribs))
            mirrored(-1.0, left_ribs, borders.left_mm, borders.right_mm);
        else if (right_ribs > stripe_mm)
            mirrored(1.0, right_ribs, borders.right_mm, borders.left_mm);
    }
    // Much narrower than what was followed: there a border within was taken for the edge, unless webbing is
    // told from bench.
    const bool told = left.told && right.told;
    return !told && borders.width_mm() < width_mm - stripe_mm ? WebBorders{half_mm, half_mm} : borders;
}

}  // namespace frayhold::gauge
