// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_edges.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <limits>
#include <opencv2/core.hpp>

#include "gauge/limb_fit.h"
#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

// Median distance between the edges where both are seen; empty where that is hardly anywhere.
std::optional<double> usual_width(const std::vector<double>& left, const std::vector<double>& right) {
    std::vector<double> widths;
    for (std::size_t s = 0; s < left.size(); ++s)
        if (!std::isnan(left[s]) && !std::isnan(right[s])) widths.push_back(right[s] - left[s]);
    constexpr std::size_t least = 10;
    if (widths.size() < least) return std::nullopt;
    return median(std::move(widths));
}

// One edge's word on where the middle runs.
struct Vote {
    double x = 0.0;  // -1 to 1 within the window
    double y = 0.0;
    bool agreed = false;  // the other edge says the same
};

cv::Vec3d quadratic_through(const std::vector<Vote>& votes,
                            const std::function<double(const Vote&)>& weight_of) {
    cv::Matx33d normal = cv::Matx33d::eye() * 1e-6;
    cv::Vec3d right;
    for (const Vote& v : votes) {
        const double weight = weight_of(v);
        const cv::Vec3d row(1.0, v.x, v.x * v.x);
        normal += weight * row * row.t();
        right += weight * v.y * row;
    }
    return normal.solve(right, cv::DECOMP_CHOLESKY);
}

// Value at x = 0 of the quadratic through the votes, without those far off it. It starts from the votes on
// which both edges agree: a long fluffed edge may outvote the whole one, but not in agreement with it.
double robust_middle(const std::vector<Vote>& votes) {
    std::vector<double> sizes(votes.size());
    std::transform(votes.begin(), votes.end(), sizes.begin(), [](const Vote& v) { return v.y; });
    const auto agreed = std::count_if(votes.begin(), votes.end(), [](const Vote& v) { return v.agreed; });
    constexpr auto enough = 12;
    cv::Vec3d curve(median(sizes), 0.0, 0.0);
    if (agreed >= enough)
        curve = quadratic_through(votes, [](const Vote& v) { return v.agreed ? 1.0 : 0.0; });
    constexpr int rounds = 4;
    constexpr double least_scale_mm = 0.05;
    for (int round = 0; round < rounds; ++round) {
        const auto off = [&](const Vote& v) {
            return std::abs(v.y - curve[0] - curve[1] * v.x - curve[2] * v.x * v.x);
        };
        std::transform(votes.begin(), votes.end(), sizes.begin(), off);
        const double reach = 4.685 * std::max(1.4826 * median(sizes), least_scale_mm);
        curve = quadratic_through(votes, [&](const Vote& v) {
            const double z = off(v) / reach;
            return z < 1 ? (1 - z * z) * (1 - z * z) : 0.0;
        });
    }
    return curve[0];
}

// What every column looks like on the mean along the whole strip: two hues, log roughness and log lightness.
struct ColumnLooks {
    static constexpr int parts = 4;
    using Look = cv::Vec<double, parts>;
    std::vector<Look> mean;
    std::vector<Look> square;   // sums over single stations
    std::vector<double> count;  // stations seen
};

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

// The columns of a stretch across the strip, from one distance from its middle to another.
std::vector<std::size_t> columns_between(const Strip& strip, double from_mm, double to_mm) {
    std::vector<std::size_t> columns;
    for (int c = 0; c < strip.bgr.cols; ++c) {
        const double across = strip.across_mm(c);
        if (across > std::min(from_mm, to_mm) && across < std::max(from_mm, to_mm))
            columns.push_back(static_cast<std::size_t>(c));
    }
    return columns;
}

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

struct OutermostEdge {
    double at_mm = 0.0;
    bool told = false;  // hue or roughness tell bench from webbing there
};

// Webbing has stripes, and a stripe's border is as straight as the edge; so is a shadow's. The edge on one
// side is where the outermost columns unlike the bench end, half-way down from the plainest just within, or
// where those end that look as the webbing between its stripes does. It lies inside the border found only if
// what is between them is like the bench, as a shadow is: else that is webbing much like the bench. Distances
// are outward.
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

// Halfway up webbing, where its edges of sight lie, how much less the line of sight carries things aside on
// the bench plane than on its upper side.
double sight_lean_mm(const Strip& strip, const View& view) {
    constexpr double half_thickness_mm = 1.125;
    const double middle = strip.bgr.rows / 2.0;
    const cv::Point2d here = strip.bench_mm(middle, 0.0), across = strip.bench_mm(middle, 1.0) - here;
    const cv::Point3d camera = view.camera_in_bench();
    return half_thickness_mm * (cv::Point2d(camera.x, camera.y) - here).dot(across) / camera.z;
}

struct Straightened {
    std::vector<cv::Point2d> centre_mm;
    double width_mm = 0.0;
};

constexpr double straight_mm = 45.0;   // an edge is followed over this length to either side
constexpr double smoothing_mm = 20.0;  // of the line that the webbing is unrolled along

// The line half-way between edges so far to the left and right of the strip's middle.
Straightened between(const Strip& strip, const StationLight& light, double left_mm, double right_mm) {
    Straightened out{{}, left_mm + right_mm};
    for (const double row : light.row) out.centre_mm.push_back(strip.bench_mm(row, (right_mm - left_mm) / 2));
    return out;
}

std::optional<Straightened> straighten(const ReducedPicture& reduced, const View& view, const Track& track) {
    const double spacing_mm =
        std::max(0.4, reduced.factor * view.mm_per_px(track.centre_mm[track.centre_mm.size() / 2]));
    const auto unrolled = [&](const std::vector<cv::Point2d>& along_mm, double smoothing,
                              double half_width_mm) {
        return unroll(reduced.bgr, reduced.factor, view, centre_line(along_mm, smoothing, spacing_mm),
                      half_width_mm);
    };
    Straightened out{track.centre_mm, track.width_mm};
    double smoothing = 6.0;
    constexpr double room_mm = 15.0;  // to tell a stripe from an edge
    constexpr int most_rounds = 3;
    for (int round = 0; round < most_rounds; ++round) {
        const Strip strip = unrolled(out.centre_mm, smoothing, 0.5 * out.width_mm + room_mm);
        const StationLight light = station_light(strip);
        std::vector<double> left, right;
        for (const auto& e : find_edges(strip, light, 0.5 * out.width_mm, shadow_beside_webbing)) {
            left.push_back(e.left);
            right.push_back(e.right);
        }
        const auto width = usual_width(left, right);
        if (!width) return std::nullopt;
        const double station_mm = light.station_mm();
        const auto middle = line_between(left, right, *width, static_cast<int>(straight_mm / station_mm));
        std::vector<cv::Point2d> middle_mm;
        for (std::size_t s = 0; s < middle.size(); ++s)
            if (!std::isnan(middle[s])) middle_mm.push_back(strip.bench_mm(light.row[s], middle[s]));
        constexpr std::size_t least_stations = 20;
        if (middle_mm.size() < least_stations) return std::nullopt;

        smoothing = smoothing_mm;
        const Strip straight = unrolled(middle_mm, smoothing, 0.5 * *width + room_mm);
        const StationLight straight_light = station_light(straight);
        const ColumnLooks looks = column_looks(straight, straight_light);
        out = between(straight, straight_light, outermost_edge(straight, looks, *width / 2, -1.0).at_mm,
                      outermost_edge(straight, looks, *width / 2, 1.0).at_mm);
        // What was followed were the edges, not stripes.
        constexpr double stripe_mm = 1.4;
        if (out.width_mm < *width + stripe_mm) break;
    }
    return out;
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

// How far out from the strip's middle each edge runs.
struct Borders {
    double left_mm = 0.0;
    double right_mm = 0.0;
    [[nodiscard]] double width_mm() const { return left_mm + right_mm; }
};

constexpr double stripe_mm = 0.7;  // a border so much farther out is another one

// In the full picture stripes narrower than the reduced one shows are told from the edge, and ribs are seen.
Borders outermost_borders(const Strip& strip, const StationLight& light, double width_mm) {
    const ColumnLooks looks = column_looks(strip, light);
    const double half_mm = width_mm / 2;
    const OutermostEdge left = outermost_edge(strip, looks, half_mm, -1.0),
                        right = outermost_edge(strip, looks, half_mm, 1.0);
    Borders borders{left.at_mm, right.at_mm};
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
    return !told && borders.width_mm() < width_mm - stripe_mm ? Borders{half_mm, half_mm} : borders;
}

using Line = std::vector<cv::Vec3d>;

// Mean of `values` over the window's stations along a line across one edge, each station about the place
// expected there; empty where the strip is hidden.
Line edge_line(const Strip& strip, const cv::Mat& values, const cv::Mat& seen, const LimbFit& fit,
               int station, const std::vector<double>& expected_mm, double side) {
    Line line;
    line.reserve(static_cast<std::size_t>(fit.samples()));
    for (int i = 0; i < fit.samples(); ++i) {
        cv::Vec3d sum;
        double weight = 0.0;
        for (int k = station - web_pair_window; k <= station + web_pair_window; ++k) {
            const double column =
                strip.column_at(expected_mm[static_cast<std::size_t>(k)] + side * fit.outward_mm(i));
            const int c = static_cast<int>(std::floor(column));
            if (c < 0 || c + 1 >= strip.bgr.cols) return {};
            const double f = column - c;
            const auto* row = values.ptr<cv::Vec3f>(k);
            const double w = seen.at<float>(k, c);
            sum += w * (cv::Vec3d(row[c]) * (1 - f) + cv::Vec3d(row[c + 1]) * f);
            weight += w;
        }
        if (weight < web_pair_window) return {};
        line.push_back(sum * (1 / weight));
    }
    return line;
}

// Mean over the samples between two places; zero where there are none.
template <class Value>
Value mean_between(const LimbFit& fit, const std::vector<Value>& values, double from_mm, double to_mm) {
    Value sum{};
    double n = 0.0;
    for (int i = 0; i < fit.samples(); ++i) {
        if (fit.outward_mm(i) < from_mm || fit.outward_mm(i) > to_mm) continue;
        sum += values[static_cast<std::size_t>(i)];
        n += 1.0;
    }
    return n > 0 ? sum * (1 / n) : sum;
}

constexpr double clear_of_blur = 2.0, level_mm = 0.3;
constexpr double least_sine = 0.08;  // between two hues, so that one is told from the other

// The hue of light just inside and well outside an edge that lies between two places.
cv::Vec3d web_hue(const LimbFit& fit, const Line& light, double inner_mm, double blur_mm) {
    const double to_mm = inner_mm - clear_of_blur * blur_mm;
    return cv::normalize(mean_between(fit, light, to_mm - level_mm, to_mm));
}
cv::Vec3d bench_hue(const LimbFit& fit, const Line& light, double outer_mm, double blur_mm) {
    const double from_mm = outer_mm + clear_of_blur * blur_mm;
    return cv::normalize(mean_between(fit, light, from_mm, from_mm + 4 * level_mm));
}

// The edge by hue. Whatever the shading of the selvedge and of the shadow at its foot, each is light of one
// hue; so at every sample linear light is parted into so much of the webbing's hue and so much of the bench's
// (least squares). Each part taken in units of its own level just beside the blur, the edge is where both are
// equal, by the area under the webbing's share. Empty where the hues are too much alike, or the webbing so
// dark that a slight change of the bench's hue, as in shadow, would pass for it.
std::optional<double> edge_by_hue(const LimbFit& fit, const Line& light, const cv::Vec3d& web,
                                  const cv::Vec3d& bench, double start_mm, double blur_mm) {
    constexpr double least_part = 0.07;
    const double clear_mm = clear_of_blur * blur_mm;
    const double cosine = web.dot(bench), sine2 = 1 - cosine * cosine;
    if (!(sine2 > least_sine * least_sine)) return std::nullopt;
    std::vector<double> of_web, of_bench;
    for (const cv::Vec3d& v : light) {
        of_web.push_back(std::max(0.0, (v.dot(web) - cosine * v.dot(bench)) / sine2));
        of_bench.push_back(std::max(0.0, (v.dot(bench) - cosine * v.dot(web)) / sine2));
    }
    const double spacing_mm = fit.outward_mm(1) - fit.outward_mm(0);
    double edge_mm = start_mm;
    constexpr int rounds = 4;
    for (int round = 0; round < rounds; ++round) {
        const double web_level = mean_between(fit, of_web, edge_mm - clear_mm - level_mm, edge_mm - clear_mm);
        const double bench_level =
            mean_between(fit, of_bench, edge_mm + clear_mm, edge_mm + clear_mm + level_mm);
        if (bench_level <= 0 || std::sqrt(sine2) * web_level < least_part * bench_level) return std::nullopt;
        double area_mm = 0.0, from_mm = nan;
        for (int i = 0; i < fit.samples(); ++i) {
            if (std::abs(fit.outward_mm(i) - edge_mm) > clear_mm + spacing_mm) continue;
            if (std::isnan(from_mm)) from_mm = fit.outward_mm(i) - spacing_mm / 2;
            const auto k = static_cast<std::size_t>(i);
            const double w = of_web[k] / web_level, b = of_bench[k] / bench_level;
            area_mm += w + b > 0 ? spacing_mm * w / (w + b) : 0.0;
        }
        edge_mm = from_mm + area_mm;
        if (std::abs(edge_mm - start_mm) > LimbFit::reach_mm) return std::nullopt;
    }
    return edge_mm;
}

// The lowest of the costs' local minima within `reach_mm` of `about_mm`, to a fraction of a step; NaN where
// none is.
double lowest(const LimbFit& fit, const std::vector<double>& costs, double about_mm, double reach_mm) {
    const auto& places = fit.places_mm();
    std::size_t best = 0;
    for (std::size_t i = 1; i + 1 < places.size(); ++i)
        if (std::abs(places[i] - about_mm) <= reach_mm && costs[i] <= costs[i - 1] &&
            costs[i] <= costs[i + 1] && (best == 0 || costs[i] < costs[best]))
            best = i;
    if (best == 0) return nan;
    const double bend = costs[best - 1] - 2 * costs[best] + costs[best + 1];
    const double shift = bend > 0 ? 0.5 * (costs[best - 1] - costs[best + 1]) / bend : 0.0;
    return places[best] + shift * (places[1] - places[0]);
}

// Where bench begins to lighten beside webbing so dark that its own shaded edge and the foot of its shadow
// are both about black: somewhere between the two the edge lies, and nothing shows it, but what grows lighter
// outward is bench. Where that begins at once, a tenth of the rise lies 1.28 blurs inward of the edge; where
// the shadow lightens slowly, about at it. Half-way, and the two as a rectangle.
struct DarkFoot {
    double at_mm = 0.0;  // outward
    double apart_mm = 0.0;
};

std::optional<DarkFoot> foot_of_light(const LimbFit& fit, const Line& light, double blur_mm) {
    constexpr double bench_mm = 0.35, reach_mm = 0.9, dark = 0.3, begins = 0.1, tenth_of_blurred_step = 1.28;
    const auto at = [&](int i) {
        const cv::Vec3d& v = light[static_cast<std::size_t>(i)];
        return v[0] + v[1] + v[2];
    };
    const int samples = fit.samples();
    double bench = 0.0, n = 0.0;
    int darkest = -1;
    std::vector<double> within;
    for (int i = 0; i < samples; ++i) {
        const double outward_mm = fit.outward_mm(i);
        if (outward_mm < 0) within.push_back(at(i));
        if (outward_mm > fit.outward_mm(samples - 1) - bench_mm) {
            bench += at(i);
            n += 1.0;
        }
        if (std::abs(outward_mm) < reach_mm && (darkest < 0 || at(i) < at(darkest))) darkest = i;
    }
    // The webbing itself, not a groove between its ribs alone.
    if (darkest < 0 || !(median(std::move(within)) < dark * bench / n)) return std::nullopt;
    const double level = at(darkest) + begins * (bench / n - at(darkest));
    for (int i = darkest; i + 1 < samples; ++i) {
        if (at(i + 1) < level) continue;
        const double part = (level - at(i)) / (at(i + 1) - at(i)), apart_mm = tenth_of_blurred_step * blur_mm;
        const double tenth_mm = fit.outward_mm(i) + part * (fit.outward_mm(i + 1) - fit.outward_mm(i));
        return DarkFoot{tenth_mm + apart_mm / 2, apart_mm};
    }
    return std::nullopt;
}

// Where light falls from webbing to what is darker beside it: to the bench, or into the shadow at its foot,
// which is darker than both. A selvedge that is lit to its very edge ends half-way down; being round, it may
// darken before that, and end as far out as the foot of the fall.
struct LightFall {
    double half_mm = 0.0;  // outward
    double foot_mm = 0.0;
};

//   from_mm   what lies within is not looked at
std::optional<LightFall> fall_of_light(const LimbFit& fit, const Line& light, double from_mm) {
    constexpr double bench_mm = 0.35, skin_mm = 0.3, selvedge_mm = 0.7, shadow = 0.7, lighter = 1.15,
                     begins = 0.1, no_darker = 0.85;
    std::vector<double> at, places, webbing;
    for (int i = 0; i < fit.samples(); ++i) {
        const double outward_mm = fit.outward_mm(i);
        if (outward_mm < from_mm) continue;
        const cv::Vec3d& v = light[static_cast<std::size_t>(i)];
        at.push_back(v[0] + v[1] + v[2]);
        places.push_back(outward_mm);
        if (outward_mm < std::max(from_mm + skin_mm, -skin_mm)) webbing.push_back(at.back());
    }
    const auto bench_samples =
        1 + static_cast<std::ptrdiff_t>(bench_mm / (fit.outward_mm(1) - fit.outward_mm(0)));
    if (static_cast<std::ptrdiff_t>(at.size()) < 3 * bench_samples || webbing.empty()) return std::nullopt;
    // Its threads, not the grooves between them, nor a dark stripe.
    constexpr double thread = 0.75;
    const double bench = median({at.end() - bench_samples, at.end()}), web = quantile(webbing, thread);
    // No stripe's darkness, which begins farther within.
    const auto first_beyond = [&](double place_mm) {
        return at.begin() + (std::upper_bound(places.begin(), places.end(), place_mm) - places.begin());
    };
    const auto first = first_beyond(-selvedge_mm);
    auto low = first_beyond(LimbFit::reach_mm) - 1;
    const auto dips = [&](auto i) { return *i < shadow * bench && i != at.begin() && *i <= *(i - 1); };
    while (low > first && !dips(low)) --low;
    if (!dips(low)) {
        if (web < lighter * bench) return std::nullopt;
        low = at.end() - 1;
        while (low != at.begin() && *low < bench + begins * (web - bench)) --low;
        while (low + 1 != at.end() && *(low + 1) < *low) ++low;
    }
    // Up to the first crest within.
    constexpr std::ptrdiff_t level = 2;
    auto crest = low;
    for (auto i = low; i != at.begin() && crest - i < level;)
        if (*--i > *crest) crest = i;
    // Grooves between the ribs of webbing darker than the bench look like its shadow.
    if (*crest < lighter * *low || *crest < no_darker * bench) return std::nullopt;
    auto half = crest;
    while (half != low && *half > (*crest + *low) / 2) ++half;
    const auto place_mm = [&](auto i) { return places[static_cast<std::size_t>(i - at.begin())]; };
    if (half == crest) return std::nullopt;
    const double part = (*(half - 1) - (*crest + *low) / 2) / (*(half - 1) - *half);
    return LightFall{place_mm(half - 1) + part * (place_mm(half) - place_mm(half - 1)), place_mm(low)};
}

struct PlacedEdge {
    std::vector<double> at_mm;  // across the strip, NaN where it is not plain
    double doubt_mm = 0.0;      // standard uncertainty of where all windows together have it
    bool by_hue = false;
    bool by_fall = false;
    std::optional<cv::Vec3d> web_hue;  // where the edge was by hue
    bool hue_sure = false;             // it was looked at beside the edge
    // The webbing may go on beyond: what was placed is the border of another hue than most of the webbing is
    // of, and the bench's hue is so much like that one that it does not tell.
    bool at_stripe = false;
    std::optional<double> beyond_stripe_mm;  // how far outside such a border the edge was placed
};

struct KnownHues {
    cv::Vec3d plain_hue;                     // of most of the webbing
    std::optional<cv::Vec3d> web_hue;        // beside this edge, or of the stripe within it
    std::optional<double> beyond_stripe_mm;  // how far outside a stripe this edge is looked for
};

// The hue of most columns between the borders.
cv::Vec3d plain_hue(const WebEdges& web, const Borders& borders) {
    constexpr double clear_of_edge_mm = 1.0;
    std::array<std::vector<double>, 3> parts;
    for (const std::size_t i : columns_between(web.strip, clear_of_edge_mm - borders.left_mm,
                                               borders.right_mm - clear_of_edge_mm)) {
        cv::Vec3d sum;
        for (int s = 0; s < web.light.mean.rows; ++s)
            sum += web.light.mean.at<cv::Vec3f>(s, static_cast<int>(i));
        sum = cv::normalize(sum);
        for (std::size_t k = 0; k < parts.size(); ++k) parts[k].push_back(sum[static_cast<int>(k)]);
    }
    if (parts[0].empty()) return {};
    return cv::normalize(cv::Vec3d(median(parts[0]), median(parts[1]), median(parts[2])));
}

constexpr double rib_u_mm = 0.1;  // a rib of the weave may pass for the edge

// Places one side's edge about where it is expected. All windows together first say where it runs, then each
// where it is there: one window alone may prefer a stripe or a shadow. By hue where that tells it, by the
// fall of light where the webbing is lighter, else by the limb model; then places nearly as likely are taken
// as equally likely (a rectangle, JCGM 100, 4.3.7).
class EdgePlacing {
  public:
    EdgePlacing(const WebEdges& web, const LimbFit& fit, const std::vector<double>& expected_mm, double side,
                double reach_mm, const KnownHues& known)
        : web_(web),
          fit_(fit),
          expected_mm_(expected_mm),
          side_(side),
          reach_mm_(reach_mm),
          known_(known),
          lights_(expected_mm.size()),
          light_together_(static_cast<std::size_t>(fit.samples())),
          costs_(expected_mm.size()),
          costs_together_(fit.places_mm().size(), 0.0) {
        constexpr std::size_t some = 3;  // windows will do to begin with
        for (std::size_t s = web_pair_window, i = 0; s + web_pair_window < expected_mm.size();
             s += web_pair_stride, ++i) {
            lights_[s] = edge_line(web.strip, web.light.mean, web.light.seen, fit, static_cast<int>(s),
                                   expected_mm, side);
            for (std::size_t k = 0; k < lights_[s].size(); ++k) light_together_[k] += lights_[s][k];
            if (i % some == 0) find_costs(s);
            if (costs_[s].empty()) continue;
            for (std::size_t k = 0; k < costs_together_.size(); ++k) costs_together_[k] += costs_[s][k];
            cost_lines_ += 1.0;
        }
        limb_mm_ = lowest(fit, costs_together_, 0.0, reach_mm);
        if (std::isnan(limb_mm_)) limb_mm_ = lowest(fit, costs_together_, 0.0, LimbFit::reach_mm);
        edge_.at_mm.assign(expected_mm.size(), nan);
    }

    PlacedEdge placed() {
        if (const auto hue_mm = find_hue()) {
            follow_hue(*hue_mm, 0.0);
            edge_.by_hue = true;
        } else if (stripe_mm_)
            place_beyond_stripe();
        else
            place_by_light();
        return std::move(edge_);
    }

  private:
    void find_costs(std::size_t s) {
        const auto line = edge_line(web_.strip, web_.light.luminance_and_colour, web_.light.seen, fit_,
                                    static_cast<int>(s), expected_mm_, side_);
        if (!line.empty()) costs_[s] = fit_.costs(line);
    }

    // From the border expected; where that lies out in the shadow, from the limb, if both agree, or from
    // further in, if there is webbing of the plain hue there and not a stripe.
    std::optional<double> find_hue() {
        constexpr double alike_sine = 0.15, stripe_within_mm = 0.5;
        const double blur_mm = web_.hue_blur_mm, outmost_mm = fit_.outward_mm(fit_.samples() - 1);
        const cv::Vec3d bare_hue =
            cv::normalize(mean_between(fit_, light_together_, outmost_mm - 2 * level_mm, outmost_mm));
        const bool plain_is_told = cv::norm(known_.plain_hue.cross(bare_hue)) > least_sine;
        std::vector<double> starts{0.0, limb_mm_, -reach_mm_};
        if (known_.beyond_stripe_mm) starts = {-*known_.beyond_stripe_mm};
        for (const double start_mm : starts) {
            if (std::isnan(start_mm)) continue;
            const cv::Vec3d hue = known_.web_hue.value_or(web_hue(fit_, light_together_, start_mm, blur_mm));
            const auto hue_mm =
                edge_by_hue(fit_, light_together_, hue, bench_hue(fit_, light_together_, start_mm, blur_mm),
                            start_mm, blur_mm);
            if (!hue_mm) continue;
            const bool sure = std::abs(*hue_mm - start_mm) < clear_of_blur * blur_mm,
                       plain = cv::norm(hue.cross(known_.plain_hue)) < alike_sine,
                       at_stripe = !plain && !plain_is_told;
            // A border so far within the one that all columns show is a stripe's.
            const bool within = at_stripe && (known_.beyond_stripe_mm || *hue_mm < -stripe_within_mm);
            if (start_mm == 0.0 || (sure && (plain || (start_mm == limb_mm_ && !within)))) {
                edge_.web_hue = hue;
                edge_.hue_sure = sure;
                edge_.at_stripe = at_stripe;
                return hue_mm;
            }
            if (sure && within) {
                stripe_mm_ = hue_mm;
                edge_.web_hue = hue;
            }
        }
        return std::nullopt;
    }

    // Each window's edge: so far outside where it has the border that all together have at `hue_mm`.
    void follow_hue(double hue_mm, double beyond_mm) {
        for (std::size_t s = 0; s < expected_mm_.size(); ++s) {
            if (lights_[s].empty()) continue;
            const auto here_mm =
                edge_by_hue(fit_, lights_[s], *edge_.web_hue,
                            bench_hue(fit_, lights_[s], hue_mm, web_.hue_blur_mm), hue_mm, web_.hue_blur_mm);
            if (here_mm && std::abs(*here_mm - hue_mm) < reach_mm_)
                edge_.at_mm[s] = expected_mm_[s] + side_ * (*here_mm + beyond_mm);
        }
    }

    // What runs as the stripe's border does, so much farther out: where light falls, else anywhere up to the
    // border expected.
    void place_beyond_stripe() {
        const auto fall =
            fall_of_light(fit_, light_together_, *stripe_mm_ + clear_of_blur * web_.hue_blur_mm);
        const double half_mm = fall ? fall->half_mm : *stripe_mm_, foot_mm = fall ? fall->foot_mm : 0.0;
        edge_.doubt_mm = std::hypot((foot_mm - half_mm) / std::sqrt(12.0), rib_u_mm);
        edge_.beyond_stripe_mm = (half_mm + foot_mm) / 2 - *stripe_mm_;
        follow_hue(*stripe_mm_, *edge_.beyond_stripe_mm);
    }

    void place_by_light() {
        const auto foot = foot_of_light(fit_, light_together_, web_.blur_mm);
        const auto fall = foot ? std::nullopt : fall_of_light(fit_, light_together_, fit_.outward_mm(0));
        if (fall)
            place_at_fall(*fall);
        else if (!std::isnan(limb_mm_))
            place_by_limb(foot);
    }

    void place_at_fall(const LightFall& fall) {
        // A window that has it farther aside fell for a rib.
        constexpr double aside_mm = 0.35;
        const double apart_mm = fall.foot_mm - fall.half_mm;
        for (std::size_t s = 0; s < expected_mm_.size(); ++s) {
            if (lights_[s].empty()) continue;
            const auto here = fall_of_light(fit_, lights_[s], fit_.outward_mm(0));
            if (here && std::abs(here->half_mm - fall.half_mm) < aside_mm)
                edge_.at_mm[s] = expected_mm_[s] + side_ * (here->half_mm + apart_mm / 2);
        }
        edge_.doubt_mm = std::hypot(apart_mm / std::sqrt(12.0), rib_u_mm);
        edge_.by_fall = true;
    }

    // The border that was expected was found by all the columns look like, the limb by its shape: half-way,
    // unless the webbing is dark. A rib of the weave or the foot of the shadow may pass for the edge with the
    // one or the other: a rectangle between them, or over a tenth where they agree.
    void place_by_limb(const std::optional<DarkFoot>& foot) {
        const double placed_mm = foot ? foot->at_mm : limb_mm_ / 2;
        for (std::size_t s = web_pair_window; s + web_pair_window < expected_mm_.size();
             s += web_pair_stride) {
            if (costs_[s].empty()) find_costs(s);
            if (!costs_[s].empty())
                edge_.at_mm[s] = expected_mm_[s] + side_ * (lowest(fit_, costs_[s], limb_mm_, reach_mm_) -
                                                            limb_mm_ + placed_mm);
        }
        if (foot) {
            edge_.doubt_mm = std::hypot(foot->apart_mm / std::sqrt(12.0),
                                        (limb_mm_ - foot->at_mm) / std::sqrt(12.0), rib_u_mm);
            return;
        }
        const auto& places = fit_.places_mm();
        const double step_mm = places[1] - places[0];
        const auto at = static_cast<std::size_t>(std::lround((limb_mm_ - places[0]) / step_mm));
        constexpr double nearly = 0.15;
        const double most = costs_together_[at] + nearly * cost_lines_;
        std::size_t low = at, high = at;
        while (low > 0 && costs_together_[low - 1] < most) --low;
        while (high + 1 < places.size() && costs_together_[high + 1] < most) ++high;
        edge_.doubt_mm = std::hypot(static_cast<double>(high - low) * step_mm / std::sqrt(12.0),
                                    limb_mm_ / std::sqrt(12.0), rib_u_mm);
    }

    const WebEdges& web_;
    const LimbFit& fit_;
    const std::vector<double>& expected_mm_;
    double side_;
    double reach_mm_;
    const KnownHues& known_;
    std::vector<Line> lights_;  // of each window; empty between
    Line light_together_;
    std::vector<std::vector<double>> costs_;  // of some windows
    std::vector<double> costs_together_;
    double cost_lines_ = 0.0;
    double limb_mm_ = nan;
    std::optional<double> stripe_mm_;  // the border of a stripe within the edge
    PlacedEdge edge_;
};

// The line between, moved out to one side by as much as that side's own placings ask for over a long stretch:
// in perspective the edges of sight are not quite as far apart everywhere.
std::vector<double> edge_beside(const std::vector<double>& middle, const std::vector<double>& placed) {
    std::vector<double> offset(middle.size(), nan);
    for (std::size_t s = 0; s < middle.size(); ++s) offset[s] = placed[s] - middle[s];
    constexpr int long_stretch = 60;
    offset = running_median(offset, long_stretch);
    std::vector<double> edge(middle.size());
    for (std::size_t s = 0; s < middle.size(); ++s) edge[s] = middle[s] + offset[s];
    return edge;
}

// Webbing is woven alike on both sides: where one edge was placed outside a stripe and the other at the
// stripe's own border, since beyond it nothing told webbing in its own shade from shadow, that one is moved
// out as far. On the bench plane the selvedge shows more on the side that the camera looks onto.
void mirror_selvedge(WebEdges& web, PlacedEdge& left, PlacedEdge& right, double lean_mm) {
    const auto move = [&](double side, PlacedEdge& here, const PlacedEdge& there, std::vector<double>& line,
                          double WebPair::*of_pair) {
        if (!here.at_stripe || !there.beyond_stripe_mm) return;
        const double by_mm = *there.beyond_stripe_mm + 2 * side * lean_mm;
        if (by_mm <= 0) return;
        for (double& at_mm : line) at_mm += side * by_mm;
        for (WebPair& pair : web.pairs) pair.*of_pair += side * by_mm;
        // Both err alike, and webbing is as thick as it is, give or take a third.
        constexpr double thickness_u = 1.0 / 3 / 1.7320508;
        here.doubt_mm = std::hypot(std::sqrt(3.0) * there.doubt_mm, 2 * lean_mm * thickness_u);
    };
    move(-1.0, left, right, web.sound.left, &WebPair::left_mm);
    move(1.0, right, left, web.sound.right, &WebPair::right_mm);
    web.edge_doubt_mm = std::hypot(left.doubt_mm, right.doubt_mm) / std::sqrt(2.0);
}

// Numbers nearest to those that are none.
void fill(std::vector<double>& values) {
    for (std::size_t i = 1; i < values.size(); ++i)
        if (std::isnan(values[i])) values[i] = values[i - 1];
    for (std::size_t i = values.size(); i-- > 1;)
        if (std::isnan(values[i - 1])) values[i - 1] = values[i];
}

}  // namespace

std::vector<double> line_between(const std::vector<double>& left, const std::vector<double>& right,
                                 double width_mm, int reach) {
    const int n = static_cast<int>(left.size());
    std::vector<double> middle(left.size(), nan);
    std::vector<Vote> votes;
    constexpr double agreement_mm = 0.5;
    for (int s = 0; s < n; ++s) {
        votes.clear();
        for (int k = std::max(0, s - reach); k <= std::min(n - 1, s + reach); ++k) {
            const auto i = static_cast<std::size_t>(k);
            const double x = static_cast<double>(k - s) / reach;
            const bool agreed = std::abs(right[i] - left[i] - width_mm) < agreement_mm;
            if (!std::isnan(left[i])) votes.push_back({x, left[i] + width_mm / 2, agreed});
            if (!std::isnan(right[i])) votes.push_back({x, right[i] - width_mm / 2, agreed});
        }
        constexpr std::size_t least_votes = 8;
        if (votes.size() >= least_votes) middle[static_cast<std::size_t>(s)] = robust_middle(votes);
    }
    return middle;
}

std::optional<WebEdges> find_web_edges(const cv::Mat& bgr, const ReducedPicture& reduced, const View& view,
                                       const Track& track, double edge_width_px) {
    auto straight = straighten(reduced, view, track);
    if (!straight) return std::nullopt;
    const double mm_per_px = view.mm_per_px(straight->centre_mm[straight->centre_mm.size() / 2]);
    WebEdges web;
    const auto unroll_webbing = [&] {
        web.strip = unroll(bgr, 1, view, centre_line(straight->centre_mm, smoothing_mm, mm_per_px),
                           0.5 * straight->width_mm + web_fibre_room_mm);
        web.light = station_light(web.strip);
    };
    unroll_webbing();
    Borders borders = outermost_borders(web.strip, web.light, straight->width_mm);
    if (borders.width_mm() > straight->width_mm + stripe_mm) {
        straight = between(web.strip, web.light, borders.left_mm, borders.right_mm);
        borders = {straight->width_mm / 2, straight->width_mm / 2};
        unroll_webbing();
    }
    // The strip's own sampling between pixels blurs a little more.
    constexpr double width_of_blur = 2.563, sampling_blur_px = 0.4;
    web.blur_mm = std::hypot(edge_width_px / width_of_blur, sampling_blur_px) * mm_per_px;
    // JPEG and HEIC halve hue, see limb_fit.h.
    web.hue_blur_mm = std::hypot(web.blur_mm, mm_per_px);

    // The selvedge is round; a stripe may begin not far within.
    constexpr double least_spacing_mm = 0.1, selvedge_radius_mm = 1.125;
    constexpr LimbFit::Window window{1.3, 1.8};
    const LimbFit fit(std::max(mm_per_px, least_spacing_mm), web.blur_mm, mm_per_px, selvedge_radius_mm,
                      window);
    std::vector<double> left(web.light.row.size(), -borders.left_mm),
        right(web.light.row.size(), borders.right_mm);
    constexpr std::size_t least_pairs = 10;
    constexpr double outlier_mm = 0.25;
    // Twice: the second time about where the neighbours' edges are, so that the window is centred on the
    // edge.
    const cv::Vec3d plain = plain_hue(web, borders);
    PlacedEdge left_edge, right_edge;
    for (int round = 0; round < 2; ++round) {
        const double reach_mm = round == 0 ? 0.6 : 0.35;
        const auto place = [&](double side, std::vector<double> expected_mm, PlacedEdge& edge) {
            if (round > 0 && !edge.by_hue && !edge.by_fall && !edge.beyond_stripe_mm) return;
            KnownHues known{plain, std::nullopt, edge.beyond_stripe_mm};
            // The window holds the stripe too.
            constexpr double most_beyond_mm = 0.6;
            if (edge.beyond_stripe_mm && *edge.beyond_stripe_mm > most_beyond_mm) {
                for (double& at_mm : expected_mm) at_mm -= side * (*edge.beyond_stripe_mm - most_beyond_mm);
                known.beyond_stripe_mm = most_beyond_mm;
            }
            if (edge.hue_sure || edge.beyond_stripe_mm) known.web_hue = edge.web_hue;
            edge = EdgePlacing(web, fit, expected_mm, side, reach_mm, known).placed();
        };
        place(-1.0, left, left_edge);
        place(1.0, right, right_edge);
        const auto &placed_left = left_edge.at_mm, &placed_right = right_edge.at_mm;
        web.edge_doubt_mm = std::hypot(left_edge.doubt_mm, right_edge.doubt_mm) / std::sqrt(2.0);
        const auto width = usual_width(placed_left, placed_right);
        if (!width) return std::nullopt;
        const double station_mm = web.light.station_mm();
        const auto middle =
            line_between(placed_left, placed_right, *width, static_cast<int>(straight_mm / station_mm));
        left = edge_beside(middle, placed_left);
        right = edge_beside(middle, placed_right);
        fill(left);
        fill(right);
        web.pairs.clear();
        for (std::size_t s = 0; s < left.size(); ++s)
            if (std::abs(placed_left[s] - left[s]) < outlier_mm &&
                std::abs(placed_right[s] - right[s]) < outlier_mm)
                web.pairs.push_back({s, placed_left[s], placed_right[s]});
    }
    if (web.pairs.size() < least_pairs) return std::nullopt;
    web.sound = {std::move(left), std::move(right)};
    mirror_selvedge(web, left_edge, right_edge, sight_lean_mm(web.strip, view));
    return web;
}

}  // namespace frayhold::gauge
