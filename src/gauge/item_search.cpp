// SPDX-License-Identifier: Apache-2.0
#include "gauge/item_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <opencv2/core/hal/intrin.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"
#include "gauge/colour.h"
#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

constexpr double cell_mm = 2.0;
constexpr double track_step_mm = 3.0;

// What a cell looks like: half of L, a, b (CIELAB, D65) and the strength of fine texture. Lightness counts
// half, since shadow and uneven light change it more than anything else; texture tells a braid from a bench
// of its own colour.
using Look = cv::Vec4f;

// The bench laid flat, cell_mm a pixel.
struct FlatBench {
    cv::Mat look;        // CV_32FC4, zero where not free
    cv::Mat free;        // CV_32F: 1 where the item may lie, 0 outside the picture and on the card
    cv::Mat in_picture;  // CV_8U
    cv::Point2d origin_mm;

    [[nodiscard]] cv::Point2d cell_of(cv::Point2d bench_mm) const { return (bench_mm - origin_mm) / cell_mm; }
    [[nodiscard]] cv::Point2d bench_of(cv::Point2d cell) const { return origin_mm + cell * cell_mm; }
};

std::optional<cv::Rect2d> seen_bench(const ReducedPicture& reduced, const View& view) {
    constexpr double reach_mm = 420.0;
    const cv::Point2d middle = view.middle_mm().value_or(id1_middle_mm);
    cv::Point2d low(1e9, 1e9), high(-1e9, -1e9);
    constexpr int steps = 12;
    for (int i = 0; i <= steps; ++i)
        for (int j = 0; j <= steps; ++j) {
            const auto mm = view.bench_from_picture(
                reduced.full_px({1.0 * i * reduced.bgr.cols / steps, 1.0 * j * reduced.bgr.rows / steps}));
            if (!mm) continue;
            const cv::Point2d p(std::clamp(mm->x, middle.x - reach_mm, middle.x + reach_mm),
                                std::clamp(mm->y, middle.y - reach_mm, middle.y + reach_mm));
            low = {std::min(low.x, p.x), std::min(low.y, p.y)};
            high = {std::max(high.x, p.x), std::max(high.y, p.y)};
        }
    if (high.x - low.x < 20 || high.y - low.y < 20) return std::nullopt;
    return cv::Rect2d(low, high);
}

// Looks of the reduced picture, averaged over `again` x `again` of its pixels.
cv::Mat looks_of(const cv::Mat& reduced, int again) {
    cv::Mat grey, smooth, texture, bgr = reduced;
    cv::cvtColor(reduced, grey, cv::COLOR_BGR2GRAY);
    cv::blur(grey, smooth, {5, 5});
    cv::absdiff(grey, smooth, texture);
    if (again > 1) {
        // Whole boxes only: what is left over at two sides is not looked at.
        const cv::Size size(reduced.cols / again, reduced.rows / again);
        const cv::Rect boxes({}, size * again);
        cv::resize(reduced(boxes), bgr, size, 0, 0, cv::INTER_AREA);
        cv::Mat precise;
        texture(boxes).convertTo(precise, CV_32F);
        cv::resize(precise, texture, size, 0, 0, cv::INTER_AREA);
    } else {
        texture.convertTo(texture, CV_32F);
    }
    std::array<cv::Mat, 4> parts;
    cv::split(lab_image(bgr), parts.data());
    parts[0] *= 0.5;
    parts[3] = texture;
    cv::Mat looks;
    cv::merge(parts.data(), parts.size(), looks);
    return looks;
}

std::optional<FlatBench> lay_flat(const ReducedPicture& reduced, const View& view) {
    const auto area = seen_bench(reduced, view);
    if (!area) return std::nullopt;
    FlatBench flat;
    flat.origin_mm = area->tl();
    const cv::Size size(static_cast<int>(area->width / cell_mm) + 1,
                        static_cast<int>(area->height / cell_mm) + 1);

    // Averaged again until a pixel is about a cell, so that laying flat neither aliases nor reads noise.
    const double mm_per_reduced = view.mm_per_px(view.middle_mm().value_or(id1_middle_mm)) * reduced.factor;
    const int again = std::max(1, static_cast<int>(std::lround(0.8 * cell_mm / mm_per_reduced)));
    const cv::Mat source = looks_of(reduced.bgr, again);
    const double scale = static_cast<double>(reduced.factor) * again;

    cv::Mat map(size, CV_32FC2);
    flat.in_picture.create(size, CV_8U);
    cv::parallel_for_({0, size.height}, [&](const cv::Range& range) {
        for (int y = range.start; y < range.end; ++y)
            for (int x = 0; x < size.width; ++x) {
                const cv::Point2d px = view.picture_from_bench(flat.bench_of(cv::Point2d(x, y)));
                const cv::Vec2d at((px.x + 0.5) / scale - 0.5, (px.y + 0.5) / scale - 0.5);
                map.at<cv::Vec2f>(y, x) = at;
                const bool inside =
                    at[0] > 0 && at[1] > 0 && at[0] < source.cols - 1 && at[1] < source.rows - 1;
                flat.in_picture.at<uchar>(y, x) = inside ? 1 : 0;
            }
    });
    cv::remap(source, flat.look, map, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    flat.in_picture.convertTo(flat.free, CV_32F);
    const cv::Point2d card_from = flat.cell_of({-1.0, -1.0});
    const cv::Point2d card_to = flat.cell_of({id1_width_mm + 1.0, id1_height_mm + 1.0});
    cv::rectangle(flat.free, cv::Point(card_from), cv::Point(card_to), 0.0, cv::FILLED);
    flat.look.setTo(cv::Scalar::all(0), flat.free == 0);
    return flat;
}

struct Seed {
    cv::Point2d bench_mm;
    double angle = 0.0;  // of the band's direction, radians
    double width_mm = 0.0;
    double standing_out = 0.0;  // weighed by its width alone
    double score = 0.0;         // and by its texture
};

std::vector<double> candidate_widths(const ItemSearchRequest& request) {
    if (request.nominal) {
        const double d = request.nominal->value();
        return {0.9 * d, 1.05 * d, 1.25 * d};
    }
    if (request.subject == Subject::rope) return {6, 8, 10, 12.5, 16, 20};
    return {11, 15, 20, 26, 34, 46};
}

// How likely a band of that width is the item, before its colour is looked at.
double width_plausibility(double width_mm, const ItemSearchRequest& request) {
    const double usual = request.nominal                    ? 1.04 * request.nominal->value()
                         : request.subject == Subject::rope ? 11.0
                                                            : 25.0;
    const double spread = request.nominal ? 0.15 : 0.4;
    const double z = std::log(width_mm / usual) / spread;
    return std::exp(-0.5 * z * z);
}

double difference(const Look& a, const Look& b) {
    const Look d = a - b;
    return std::sqrt(static_cast<double>(d.dot(d)));
}

// Texture as a share of lightness: light and shade leave it much as it is.
double grain(const Look& look) {
    constexpr float dark = 1.0F;  // below it texture is noise
    return static_cast<double>(look[3] / std::max(dark, look[0]));
}

// How plainly a band stands out: by the weaker of its sides, less what its two surroundings differ in hue and
// texture, for a shadow beside the item has the item on one side and the bench on the other.
double standing_out(const Look& in_left, const Look& in_right, const Look& out_left, const Look& out_right) {
    Look surroundings = out_left - out_right;
    surroundings[0] *= 0.4F;
    return std::min(difference(in_left, out_left), difference(in_right, out_right)) -
           0.4 * std::sqrt(static_cast<double>(surroundings.dot(surroundings)));
}

// How plausible it is that a band is a rope, by its texture: a braid shows some, whatever its colour and
// light; painted metal, a hose or a cable does not, nor does a shadow on a plain bench, taken for the item
// or, as half of it, along with it.
double weave_plausibility(double seen_grain, const ItemSearchRequest& request) {
    if (request.subject != Subject::rope) return 1.0;
    constexpr double half_plausible = 0.12;
    const double square = seen_grain * seen_grain;
    return square / (square + half_plausible * half_plausible);
}

// How plausible it is that a whole course is a rope's: what comes round upon itself within a hand's breadth
// is a ring or a karabiner, whose sheen may pass for texture.
double course_plausibility(const std::vector<cv::Point2d>& centre_mm, const ItemSearchRequest& request) {
    constexpr std::size_t reach = 4;  // steps to either side that give a direction
    constexpr double longest_mm = 400.0, turned = 215 * std::numbers::pi / 180, plausible = 0.1;
    if (request.subject != Subject::rope ||
        static_cast<double>(centre_mm.size()) * track_step_mm > longest_mm)
        return 1.0;
    double turn = 0.0;
    for (std::size_t i = reach; i + reach < centre_mm.size(); i += reach) {
        const cv::Point2d before = centre_mm[i] - centre_mm[i - reach],
                          after = centre_mm[i + reach] - centre_mm[i];
        turn += std::atan2(before.cross(after), before.dot(after));
    }
    return std::abs(turn) > turned ? plausible : 1.0;
}

// One row of a turned bench: at each place the mean look over 36 mm along the turned columns, of the nearest
// cells, and how much of that is free.
void mean_along(const FlatBench& flat, const cv::Matx23d& flat_from_turned, int y, std::vector<Look>& look,
                std::vector<float>& free) {
    constexpr int reach = 9, step = 2;  // rows
    constexpr float share = 1.0F / (reach + 1);
    std::fill(look.begin(), look.end(), Look());
    std::fill(free.begin(), free.end(), 0.0F);
    for (int i = -reach; i <= reach; i += step) {
        const double from_x = flat_from_turned(0, 1) * (y + i) + flat_from_turned(0, 2),
                     from_y = flat_from_turned(1, 1) * (y + i) + flat_from_turned(1, 2);
        for (std::size_t x = 0; x < look.size(); ++x) {
            const auto at = static_cast<double>(x);
            const auto column = static_cast<int>(from_x + flat_from_turned(0, 0) * at + 0.5),
                       row = static_cast<int>(from_y + flat_from_turned(1, 0) * at + 0.5);
            if (static_cast<unsigned>(column) >= static_cast<unsigned>(flat.look.cols) ||
                static_cast<unsigned>(row) >= static_cast<unsigned>(flat.look.rows))
                continue;
            look[x] += flat.look.ptr<Look>(row)[column];
            free[x] += flat.free.ptr<float>(row)[column];
        }
    }
    for (std::size_t x = 0; x < look.size(); ++x) {
        look[x] *= share;
        free[x] *= share;
    }
}

// Scores every place for bands along the columns of a bench turned by `angle`; keeps the best of each
// neighbourhood.
void scan_direction(const FlatBench& flat, double angle, const std::vector<double>& widths,
                    const ItemSearchRequest& request, std::vector<Seed>& seeds) {
    const int side = static_cast<int>(std::ceil(std::hypot(flat.look.cols, flat.look.rows))) | 1;
    const cv::Point2d middle((side - 1) / 2.0, (side - 1) / 2.0);
    const cv::Point2d centre((flat.look.cols - 1) / 2.0, (flat.look.rows - 1) / 2.0);
    // turned (x, y) -> flat: the column direction becomes (cos, sin) of the angle.
    const double c = std::cos(angle), s = std::sin(angle);
    const cv::Matx23d flat_from_turned(-s, c, centre.x + s * middle.x - c * middle.y, c, s,
                                       centre.y - c * middle.x - s * middle.y);
    struct Window {
        int from, to;
    };
    struct Band {
        double width_mm, plausibility;
        Window in_left, in_right, out_left, out_right;
    };
    std::vector<Band> bands;
    const auto window = [](double from_mm, double to_mm) {
        const int from = static_cast<int>(std::lround(from_mm / cell_mm));
        return Window{from, std::max(from + 1, static_cast<int>(std::lround(to_mm / cell_mm)))};
    };
    for (const double w : widths)
        bands.push_back({w, width_plausibility(w, request), window(-0.46 * w, -0.12 * w),
                         window(0.12 * w, 0.46 * w), window(-0.5 * w - 6, -0.5 * w - 1),
                         window(0.5 * w + 1, 0.5 * w + 6)});
    const int margin = static_cast<int>((0.5 * widths.back() + 7) / cell_mm) + 1;

    constexpr int stride_along = 6, stride_across = 2;
    constexpr double least_plain = 1.0;
    std::vector<Look> row(static_cast<std::size_t>(side)), sums(row.size() + 1);
    std::vector<float> weight(row.size()), weights(sums.size());
    for (int y = 0; y < side; y += stride_along) {
        mean_along(flat, flat_from_turned, y, row, weight);
        for (std::size_t x = 0; x < row.size(); ++x) {
            sums[x + 1] = sums[x] + row[x];
            weights[x + 1] = weights[x] + weight[x];
        }
        const auto weight_in = [&](int x, Window w) {
            return weights[static_cast<std::size_t>(x + w.to)] -
                   weights[static_cast<std::size_t>(x + w.from)];
        };
        const auto mean = [&](int x, Window w, float total) {
            return (sums[static_cast<std::size_t>(x + w.to)] - sums[static_cast<std::size_t>(x + w.from)]) *
                   (1.0F / total);
        };
        for (int x = margin; x < side - margin; x += stride_across) {
            if (weight[static_cast<std::size_t>(x)] < 0.98F) continue;
            Seed best;
            for (const Band& band : bands) {
                const float in_left = weight_in(x, band.in_left), in_right = weight_in(x, band.in_right);
                const float out_left = weight_in(x, band.out_left), out_right = weight_in(x, band.out_right);
                if (in_left < 0.98F * static_cast<float>(band.in_left.to - band.in_left.from) ||
                    in_right < 0.98F * static_cast<float>(band.in_right.to - band.in_right.from) ||
                    out_left < 0.5F * static_cast<float>(band.out_left.to - band.out_left.from) ||
                    out_right < 0.5F * static_cast<float>(band.out_right.to - band.out_right.from))
                    continue;
                const Look left = mean(x, band.in_left, in_left), beside = mean(x, band.out_left, out_left);
                // No band stands out by more than either of its sides.
                if (band.plausibility * difference(left, beside) <= best.score) continue;
                const Look right = mean(x, band.in_right, in_right);
                const double plain =
                    band.plausibility * standing_out(left, right, beside, mean(x, band.out_right, out_right));
                const double score = plain * weave_plausibility(std::min(grain(left), grain(right)), request);
                if (plain >= least_plain && score > best.score)
                    best = {{}, angle, band.width_mm, plain, score};
            }
            if (best.score <= 0) continue;
            best.bench_mm = flat.bench_of(
                {flat_from_turned(0, 0) * x + flat_from_turned(0, 1) * y + flat_from_turned(0, 2),
                 flat_from_turned(1, 0) * x + flat_from_turned(1, 1) * y + flat_from_turned(1, 2)});
            seeds.push_back(best);
        }
    }
}

std::vector<Seed> best_seeds(std::vector<Seed> seeds, std::size_t most) {
    std::sort(seeds.begin(), seeds.end(), [](const Seed& a, const Seed& b) { return a.score > b.score; });
    std::vector<Seed> kept;
    for (const Seed& seed : seeds) {
        constexpr double apart_mm = 25.0;
        const bool near = std::any_of(kept.begin(), kept.end(), [&](const Seed& k) {
            return cv::norm(k.bench_mm - seed.bench_mm) < apart_mm;
        });
        if (!near) kept.push_back(seed);
        if (kept.size() == most) break;
    }
    return kept;
}

// Follows a band along its length on the flat bench.
class Tracer {
  public:
    Tracer(const FlatBench& flat, double width_mm) : flat_(flat), width_mm_(width_mm) {}

    // How plainly a band of this place and direction stands out. Below any score where the place is not free.
    [[nodiscard]] double score(cv::Point2d at_mm, double angle, double width_mm) const {
        const auto sides = sides_of(at_mm, angle, width_mm);
        return sides ? standing_out(sides->in_left, sides->in_right, sides->out_left, sides->out_right)
                     : not_free;
    }
    // The same, weighed by how much its halves look like a rope's.
    [[nodiscard]] double item_score(cv::Point2d at_mm, double angle, const ItemSearchRequest& request) const {
        const auto sides = sides_of(at_mm, angle, width_mm_);
        if (!sides) return not_free;
        return standing_out(sides->in_left, sides->in_right, sides->out_left, sides->out_right) *
               weave_plausibility(std::min(grain(sides->in_left), grain(sides->in_right)), request);
    }

    struct Sides {
        Look in_left, in_right, out_left, out_right;
    };
    // Empty where the place is not free.
    [[nodiscard]] std::optional<Sides> sides_of(cv::Point2d at_mm, double angle, double width_mm) const {
        const cv::Point2d along(std::cos(angle), std::sin(angle));
        const cv::Point2d across(-along.y, along.x);
        std::array<cv::v_float32x4, 2> inside{cv::v_setzero_f32(), cv::v_setzero_f32()}, outside = inside;
        std::array<int, 2> outside_count{};
        constexpr std::array inward{0.15, 0.38}, outward{1.5, 3.5};
        for (const double a : alongs) {
            for (const int side : {0, 1}) {
                const double sign = side == 0 ? -1.0 : 1.0;
                const auto i = static_cast<std::size_t>(side);
                for (const double t : inward)
                    if (!add_look(at_mm + along * a + across * (sign * t * width_mm), inside[i]))
                        return std::nullopt;
                for (const double t : outward)
                    if (add_look(at_mm + along * a + across * (sign * (0.5 * width_mm + t)), outside[i]))
                        ++outside_count[i];
            }
        }
        if (outside_count[0] < 4 || outside_count[1] < 4) return std::nullopt;
        constexpr auto inside_count = static_cast<int>(alongs.size() * inward.size());
        return Sides{mean_look(inside[0], inside_count), mean_look(inside[1], inside_count),
                     mean_look(outside[0], outside_count[0]), mean_look(outside[1], outside_count[1])};
    }

    static constexpr double not_free = -1e9;

    // Texture, as a share of lightness, along a course: the least of the medians along three lines well
    // within the band, for edges show texture too, and so does the border of a sheen along a smooth thing.
    [[nodiscard]] double grain_along(const std::vector<cv::Point2d>& centre_mm) const {
        double least = std::numeric_limits<double>::infinity();
        for (const double t : {-0.2, 0.0, 0.2}) {
            std::vector<double> grains;
            for (std::size_t i = 0; i + 1 < centre_mm.size(); ++i) {
                const cv::Point2d along = centre_mm[i + 1] - centre_mm[i];
                const cv::Point2d across = cv::Point2d(-along.y, along.x) / cv::norm(along);
                cv::v_float32x4 sum = cv::v_setzero_f32();
                if (add_look(centre_mm[i] + across * (t * width_mm_), sum))
                    grains.push_back(grain(mean_look(sum, 1)));
            }
            least = std::min(least, grains.empty() ? 0.0 : median(std::move(grains)));
        }
        return least;
    }

    struct Path {
        std::vector<cv::Point2d> points_mm;
        std::vector<double> scores;
        double last_angle = 0.0;
        bool closed = false;  // came back onto its own beginning: a ring
    };

    // Steps from `start` until the band is lost for longer than a fray is long, or the picture or card is
    // reached. Where it is lost, the course is the chord of what was last plain, and the search widens with
    // the distance gone; where that does not meet it again, a bend may.
    [[nodiscard]] Path follow(cv::Point2d start_mm, double angle, double usual_score) const {
        constexpr double bridge_mm = 75.0, most_mm = 1500.0;
        Path path{{}, {}, angle, false};
        std::vector<cv::Point2d> plain{start_mm};
        std::vector<double> plainness{usual_score};
        cv::Point2d at = start_mm;
        double lost_mm = 0.0;
        for (double gone = 0; gone < most_mm; gone += track_step_mm) {
            const int most_shift = 1 + static_cast<int>(lost_mm / 15.0);
            Step best = best_step(at, angle, most_shift);
            if (best.value == not_free || lost_mm > bridge_mm) {
                if (lost_mm == 0) break;
                const std::size_t sure = last_sure(plainness);
                const auto round_bend = met_round_bend(plain[sure], chord(plain, sure, angle),
                                                       cv::norm(plain.back() - plain[sure]), usual_score);
                if (!round_bend) break;
                best = *round_bend;
                plain.resize(sure + 1);
                plainness.resize(sure + 1);
                cut_after(path, plain.back());
                const auto between = static_cast<std::size_t>(
                    std::max(0.0, std::round(cv::norm(best.at_mm - plain.back()) / track_step_mm) - 1));
                path.points_mm.resize(path.points_mm.size() + between);
                path.scores.resize(path.points_mm.size());
            }
            if (best.value > 0.35 * usual_score) {
                // Back in sight: what lies between is taken as straight.
                if (lost_mm > 0) straighten_last(path, plain.back(), best.at_mm);
                at = best.at_mm;
                angle = lost_mm > 0 && !best.round_bend ? direction(plain.back(), at) : best.angle;
                lost_mm = 0.0;
                plain.push_back(at);
                plainness.push_back(best.value);
                path.last_angle = angle;
                path.closed = comes_back(plain);
                if (path.closed) break;
            } else {
                if (lost_mm == 0)
                    angle = chord(plain, plain.size() - 1 - std::min(plain.size() - 1, doubtful_end), angle);
                lost_mm += track_step_mm;
                at += cv::Point2d(std::cos(angle), std::sin(angle)) * track_step_mm;
            }
            path.points_mm.push_back(at);
            path.scores.push_back(std::max(0.0, best.value));
        }
        cut_after(path, plain.back());
        return path;
    }

  private:
    struct Step {
        double value = not_free;
        double angle = 0.0;
        cv::Point2d at_mm;
        bool round_bend = false;
    };

    // Where along the band it is looked at, from its place.
    static constexpr std::array alongs{-6.0, -3.0, 0.0, 3.0, 6.0};
    // Points at the end of a plain stretch that what ends it may have drawn aside.
    static constexpr std::size_t doubtful_end = 2;

    [[nodiscard]] Step best_step(cv::Point2d at, double angle, int most_shift) const {
        Step best;
        best.angle = angle;
        for (int turn = -2; turn <= 2; ++turn) {
            const double tried_angle = angle + turn * (std::numbers::pi / 36);
            const cv::Point2d along(std::cos(tried_angle), std::sin(tried_angle));
            const cv::Point2d across(-along.y, along.x);
            for (int shift = -most_shift; shift <= most_shift; ++shift) {
                const cv::Point2d tried = at + along * track_step_mm + across * (0.7 * shift);
                // A straight course is preferred where colours say little, as in a fray.
                const double value =
                    score(tried, tried_angle, width_mm_) - 0.15 * std::abs(turn) - 0.05 * std::abs(shift);
                if (value > best.value) best = {value, tried_angle, tried};
            }
        }
        return best;
    }

    // Whether the last step retraces an earlier one, of another round.
    [[nodiscard]] bool comes_back(const std::vector<cv::Point2d>& plain) const {
        constexpr std::size_t same_round = 20;
        constexpr double alike = 0.85;  // cosine between both directions
        if (plain.size() < same_round + 2) return false;
        const cv::Point2d last = plain.back(), step = last - plain[plain.size() - 2];
        for (std::size_t i = 1; i + same_round < plain.size(); ++i) {
            const cv::Point2d earlier = plain[i] - plain[i - 1];
            if (cv::norm(plain[i] - last) < 0.5 * width_mm_ &&
                earlier.dot(step) > alike * cv::norm(earlier) * cv::norm(step))
                return true;
        }
        return false;
    }

    static double direction(cv::Point2d from, cv::Point2d to) {
        return std::atan2(to.y - from.y, to.x - from.x);
    }

    // Where the band comes into sight again round a bend: as plainly as half of usual, looking as it did, and
    // on over a stretch, since much else lies to either side of a straight course. faded_mm: as far beyond
    // `from` it was still in sight.
    [[nodiscard]] std::optional<Step> met_round_bend(cv::Point2d from, double angle, double faded_mm,
                                                     double usual_score) const {
        constexpr double clear_mm = 12.0, longest_mm = 50.0, plain = 0.5, other_look = 0.5;
        const auto then = look_inside(from, angle);
        if (!then) return std::nullopt;
        for (double way_mm = faded_mm + clear_mm; way_mm <= longest_mm; way_mm += track_step_mm) {
            const int most_shift = 1 + static_cast<int>(way_mm / 15.0);
            Step best;
            for (const double radius_mm : {120.0, 60.0})
                for (const double side : {-1.0, 1.0}) {
                    const double turned = side * way_mm / radius_mm, middle = angle + turned / 2;
                    const double chord_mm = 2 * radius_mm * std::sin(std::abs(turned) / 2) - track_step_mm;
                    const cv::Point2d before =
                        from + cv::Point2d(std::cos(middle), std::sin(middle)) * chord_mm;
                    const Step step = best_step(before, angle + turned, most_shift);
                    if (step.value > best.value) best = step;
                }
            if (best.value < plain * usual_score) continue;
            const auto now = look_inside(best.at_mm, best.angle);
            if (!now || difference(*then, *now) > other_look * usual_score) continue;
            if (!goes_on(best, plain * usual_score)) continue;
            best.round_bend = true;
            return best;
        }
        return std::nullopt;
    }

    [[nodiscard]] bool goes_on(Step step, double least) const {
        constexpr int steps = 4;
        for (int i = 0; i < steps; ++i) {
            step = best_step(step.at_mm, step.angle, 1);
            if (step.value < least) return false;
        }
        return true;
    }

    static void cut_after(Path& path, cv::Point2d last) {
        while (!path.points_mm.empty() && path.points_mm.back() != last) {
            path.points_mm.pop_back();
            path.scores.pop_back();
        }
    }

    // The mean look along the band's middle; empty where it leaves the picture or lies on the card.
    [[nodiscard]] std::optional<Look> look_inside(cv::Point2d at_mm, double angle) const {
        const cv::Point2d along(std::cos(angle), std::sin(angle)), across(-along.y, along.x);
        cv::v_float32x4 sum = cv::v_setzero_f32();
        int count = 0;
        for (const double a : alongs)
            for (const double t : {-0.25, 0.0, 0.25}) {
                if (!add_look(at_mm + along * a + across * (t * width_mm_), sum)) return std::nullopt;
                ++count;
            }
        return mean_look(sum, count);
    }

    [[nodiscard]] static Look mean_look(const cv::v_float32x4& sum, int count) {
        Look look;
        cv::v_store(look.val, sum);
        return look * (1.0F / static_cast<float>(count));
    }

    // Direction of the last plain stretch, less its very end, which a fray may have drawn aside.
    static double chord(const std::vector<cv::Point2d>& plain, std::size_t last, double otherwise) {
        constexpr std::size_t least = 5, length = 10;
        if (last + 1 < least) return otherwise;
        return direction(plain[last - std::min(last, length)], plain[last]);
    }

    // The last of the plain points before the band began to fade. What ends a band, a fray or core of the
    // bench's colour, draws the course aside while it comes into the window.
    static std::size_t last_sure(const std::vector<double>& plainness) {
        constexpr std::size_t most_doubtful = 8, before = 12;
        constexpr double faded = 0.75;
        std::size_t last = plainness.size() - 1 - std::min(plainness.size() - 1, doubtful_end);
        const std::size_t first = last - std::min(last, most_doubtful - doubtful_end);
        const auto from = plainness.begin() + static_cast<std::ptrdiff_t>(first - std::min(first, before));
        const double usual = median({from, plainness.begin() + static_cast<std::ptrdiff_t>(first + 1)});
        while (last > first && plainness[last] < faded * usual) --last;
        return last;
    }

    // Lays the points since the last plain one on the straight line to `to`.
    static void straighten_last(Path& path, cv::Point2d from, cv::Point2d to) {
        std::size_t first = path.points_mm.size();
        while (first > 0 && path.points_mm[first - 1] != from) --first;
        const auto count = static_cast<double>(path.points_mm.size() - first + 1);
        for (std::size_t i = first; i < path.points_mm.size(); ++i)
            path.points_mm[i] = from + (to - from) * (static_cast<double>(i - first + 1) / count);
    }

    // Adds the look there, bilinear between cells; false outside the picture and on the card. Most of the
    // time goes here: a look is a vector of four.
    [[nodiscard]] bool add_look(cv::Point2d bench_mm, cv::v_float32x4& sum) const {
        const cv::Point2d cell = flat_.cell_of(bench_mm);
        if (!(cell.x >= 0 && cell.y >= 0 && cell.x < flat_.look.cols - 1 && cell.y < flat_.look.rows - 1))
            return false;
        const int x = static_cast<int>(cell.x), y = static_cast<int>(cell.y);
        if (flat_.free.ptr<float>(y)[x] == 0 || flat_.free.ptr<float>(y + 1)[x + 1] == 0) return false;
        const auto fx = static_cast<float>(cell.x - x), fy = static_cast<float>(cell.y - y);
        const auto between = [](const Look* pair, float share) {
            return cv::v_load(pair[0].val) * cv::v_setall_f32(1 - share) +
                   cv::v_load(pair[1].val) * cv::v_setall_f32(share);
        };
        sum = sum + between(flat_.look.ptr<Look>(y) + x, fx) * cv::v_setall_f32(1 - fy) +
              between(flat_.look.ptr<Look>(y + 1) + x, fx) * cv::v_setall_f32(fy);
        return true;
    }

    const FlatBench& flat_;
    double width_mm_;
};

bool leads_onto_card(cv::Point2d end_mm, double angle) {
    constexpr double margin_mm = 6.0;
    const cv::Rect2d well_inside(margin_mm, margin_mm, id1_width_mm - 2 * margin_mm,
                                 id1_height_mm - 2 * margin_mm);
    for (double ahead = 0; ahead <= 24; ahead += 2)
        if (well_inside.contains(end_mm + cv::Point2d(std::cos(angle), std::sin(angle)) * ahead)) return true;
    return false;
}

constexpr std::array both_sides{-1.0, 1.0};

// Whether a band ends well within the picture, neither cut off by its border nor by the card.
bool ends_in_sight(const ReducedPicture& reduced, const View& view, cv::Point2d end_mm, double angle,
                   double width_mm) {
    if (leads_onto_card(end_mm, angle)) return false;
    // All that the next place is judged by must be in the picture.
    constexpr double ahead_mm = track_step_mm + 6.0, beside_mm = 3.5;
    const cv::Point2d along(std::cos(angle), std::sin(angle)), across(-along.y, along.x);
    const cv::Rect2d picture(0, 0, reduced.bgr.cols * reduced.factor, reduced.bgr.rows * reduced.factor);
    return std::all_of(std::begin(both_sides), std::end(both_sides), [&](double side) {
        return picture.contains(view.picture_from_bench(end_mm + along * ahead_mm +
                                                        across * (side * (0.5 * width_mm + beside_mm))));
    });
}

}  // namespace

std::optional<Track> find_item(const ReducedPicture& reduced, const View& view,
                               const ItemSearchRequest& request) {
    const auto flat = lay_flat(reduced, view);
    if (!flat) return std::nullopt;
    const auto widths = candidate_widths(request);
    constexpr int directions = 12;
    std::array<std::vector<Seed>, directions> by_direction;
    cv::parallel_for_({0, directions}, [&](const cv::Range& range) {
        for (int i = range.start; i < range.end; ++i)
            scan_direction(*flat, std::numbers::pi * i / directions, widths, request,
                           by_direction[static_cast<std::size_t>(i)]);
    });
    std::vector<Seed> seeds;
    for (const auto& some : by_direction) seeds.insert(seeds.end(), some.begin(), some.end());

    std::optional<Track> best;
    double best_total = 0.0;
    std::vector<cv::Point2d> followed;
    // One thing may have many seeds along it, a plainer one as many as there are.
    constexpr std::size_t most_seeds = 60;
    constexpr int most_things = 12;
    int things = 0;
    for (const Seed& seed : best_seeds(std::move(seeds), most_seeds)) {
        const auto seen_already = [&](cv::Point2d at_mm) {
            return std::any_of(followed.begin(), followed.end(), [&](cv::Point2d p) {
                return cv::norm(p - at_mm) < 0.6 * seed.width_mm + track_step_mm;
            });
        };
        if (seen_already(seed.bench_mm)) continue;
        if (++things > most_things) break;
        // The scan's widths and directions are coarse: the ones that part item and bench best at the seed.
        double width = seed.width_mm, angle = seed.angle, score = 0.0;
        for (const double share : {0.8, 0.9, 1.0, 1.1, 1.22})
            for (int turn = -3; turn <= 3; ++turn) {
                const double tried_width = share * seed.width_mm,
                             tried = seed.angle + turn * std::numbers::pi / 60;
                const double value = Tracer(*flat, tried_width).item_score(seed.bench_mm, tried, request) *
                                     width_plausibility(tried_width, request);
                if (value > score) {
                    score = value;
                    width = tried_width;
                    angle = tried;
                }
            }
        if (score <= 0) continue;
        const Tracer tracer(*flat, width);
        // Judged by the long run of the scan too, so that one lucky spot does not set the measure.
        const double usual = std::min(tracer.score(seed.bench_mm, angle, width), 1.5 * seed.standing_out);
        const auto ahead = tracer.follow(seed.bench_mm, angle, usual);
        const auto behind =
            ahead.closed ? Tracer::Path{} : tracer.follow(seed.bench_mm, angle + std::numbers::pi, usual);
        Track track;
        track.width_mm = width;
        track.centre_mm.assign(behind.points_mm.rbegin(), behind.points_mm.rend());
        track.centre_mm.push_back(seed.bench_mm);
        track.centre_mm.insert(track.centre_mm.end(), ahead.points_mm.begin(), ahead.points_mm.end());
        // From a seed elsewhere onto a thing that was followed from a plainer one.
        const auto again = std::count_if(track.centre_mm.begin(), track.centre_mm.end(), seen_already);
        const bool same_thing = 2 * static_cast<std::size_t>(again) > track.centre_mm.size();
        followed.insert(followed.end(), track.centre_mm.begin(), track.centre_mm.end());
        if (same_thing) continue;
        std::vector<double> scores = ahead.scores;
        scores.insert(scores.end(), behind.scores.begin(), behind.scores.end());
        constexpr std::size_t shortest = 8;
        if (scores.size() < shortest) continue;
        track.contrast = median(scores);
        track.runs_over_card = leads_onto_card(track.centre_mm.back(), ahead.last_angle) ||
                               leads_onto_card(track.centre_mm.front(), behind.last_angle);
        // Length tells an item from the clutter; contrast counts up to where it is plain. Webbing is laid
        // across the picture and runs out of it: what is as broad and ends in sight is likelier something
        // that lies about, a rule or a tool. Nothing of a rope's breadth does so, and ropes often end in
        // sight.
        constexpr double share_in_sight = 0.5;
        double total = 0.0;
        for (const double s : scores) total += std::min(s, 20.0);
        total *= width_plausibility(width, request);
        total *= weave_plausibility(tracer.grain_along(track.centre_mm), request) *
                 course_plausibility(track.centre_mm, request);
        const auto weigh_end = [&](cv::Point2d end_mm, double last_angle) {
            if (request.subject == Subject::webbing && !ahead.closed &&
                ends_in_sight(reduced, view, end_mm, last_angle, width))
                total *= share_in_sight;
        };
        weigh_end(track.centre_mm.back(), ahead.last_angle);
        weigh_end(track.centre_mm.front(), behind.last_angle);
        if (total > best_total) {
            best_total = total;
            best = std::move(track);
        }
    }
    return best;
}

}  // namespace frayhold::gauge
