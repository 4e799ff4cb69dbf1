// SPDX-License-Identifier: Apache-2.0
#include "gauge/item_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"

namespace frayhold::gauge {
namespace {

constexpr double cell_mm = 1.5;
constexpr double track_step_mm = 2.0;

// The bench laid flat, cell_mm a pixel: CIELAB (D65, L 0 to 100) and, last, how far the pixel may belong to the item
// (1) or not (0: outside the picture or on the card).
struct FlatBench {
    cv::Mat lab_and_free;  // CV_32FC4
    cv::Mat in_picture;    // CV_8U
    cv::Point2d origin_mm;

    [[nodiscard]] cv::Point2d cell_of(cv::Point2d bench_mm) const { return (bench_mm - origin_mm) / cell_mm; }
    [[nodiscard]] cv::Point2d bench_of(cv::Point2d cell) const { return origin_mm + cell * cell_mm; }
};

std::optional<cv::Rect2d> seen_bench(cv::Size reduced, int factor, const View& view) {
    constexpr double reach_mm = 420.0;
    const cv::Point2d card_centre(id1_width_mm / 2, id1_height_mm / 2);
    cv::Point2d low(1e9, 1e9), high(-1e9, -1e9);
    constexpr int steps = 12;
    for (int i = 0; i <= steps; ++i)
        for (int j = 0; j <= steps; ++j) {
            const cv::Point2d px(1.0 * i * factor * reduced.width / steps, 1.0 * j * factor * reduced.height / steps);
            const auto mm = view.bench_from_picture(px);
            if (!mm) continue;
            const cv::Point2d p(std::clamp(mm->x, card_centre.x - reach_mm, card_centre.x + reach_mm),
                                std::clamp(mm->y, card_centre.y - reach_mm, card_centre.y + reach_mm));
            low = {std::min(low.x, p.x), std::min(low.y, p.y)};
            high = {std::max(high.x, p.x), std::max(high.y, p.y)};
        }
    if (high.x - low.x < 20 || high.y - low.y < 20) return std::nullopt;
    return cv::Rect2d(low, high);
}

std::optional<FlatBench> lay_flat(const cv::Mat& reduced, int factor, const View& view) {
    const auto area = seen_bench(reduced.size(), factor, view);
    if (!area) return std::nullopt;
    FlatBench flat;
    flat.origin_mm = area->tl();
    const cv::Size size(static_cast<int>(area->width / cell_mm) + 1, static_cast<int>(area->height / cell_mm) + 1);

    // Averaged again until a pixel is about a cell, so that laying flat neither aliases nor reads noise.
    const double mm_per_reduced = view.mm_per_px({id1_width_mm / 2, id1_height_mm / 2}) * factor;
    const int again = std::max(1, static_cast<int>(std::lround(0.8 * cell_mm / mm_per_reduced)));
    cv::Mat source = reduced;
    if (again > 1) cv::resize(reduced, source, {reduced.cols / again, reduced.rows / again}, 0, 0, cv::INTER_AREA);
    const double scale = static_cast<double>(factor) * again;

    cv::Mat map(size, CV_32FC2);
    for (int y = 0; y < size.height; ++y)
        for (int x = 0; x < size.width; ++x) {
            const cv::Point2d px = view.picture_from_bench(flat.bench_of(cv::Point2d(x, y)));
            map.at<cv::Vec2f>(y, x) = {static_cast<float>((px.x + 0.5) / scale - 0.5),
                                       static_cast<float>((px.y + 0.5) / scale - 0.5)};
        }
    cv::Mat bgr, lab;
    cv::remap(source, bgr, map, cv::noArray(), cv::INTER_LINEAR, cv::BORDER_REPLICATE);
    bgr.convertTo(lab, CV_32FC3, 1.0 / 255);
    cv::cvtColor(lab, lab, cv::COLOR_BGR2Lab);

    flat.in_picture = cv::Mat::zeros(size, CV_8U);
    for (int y = 0; y < size.height; ++y)
        for (int x = 0; x < size.width; ++x) {
            const cv::Vec2f at = map.at<cv::Vec2f>(y, x);
            const bool inside = at[0] > 0 && at[1] > 0 && at[0] < static_cast<float>(source.cols - 1) &&
                                at[1] < static_cast<float>(source.rows - 1);
            flat.in_picture.at<uchar>(y, x) = inside ? 1 : 0;
        }
    cv::Mat free;
    flat.in_picture.convertTo(free, CV_32F);
    const cv::Point2d card_from = flat.cell_of({-1.0, -1.0});
    const cv::Point2d card_to = flat.cell_of({id1_width_mm + 1.0, id1_height_mm + 1.0});
    cv::rectangle(free, cv::Point(card_from), cv::Point(card_to), 0.0, cv::FILLED);
    const std::array<cv::Mat, 2> parts{lab, free};
    cv::merge(parts, flat.lab_and_free);
    return flat;
}

struct Seed {
    cv::Point2d bench_mm;
    double angle = 0.0;  // of the band's direction, radians
    double width_mm = 0.0;
    double score = 0.0;
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
    const double usual = request.nominal ? 1.04 * request.nominal->value() : request.subject == Subject::rope ? 11.0 : 25.0;
    const double spread = request.nominal ? 0.15 : 0.4;
    const double z = std::log(width_mm / usual) / spread;
    return std::exp(-0.5 * z * z);
}

float colour_difference(const cv::Vec4f& a, const cv::Vec4f& b) {
    const float l = a[0] - b[0], u = a[1] - b[1], v = a[2] - b[2];
    return std::sqrt(l * l + u * u + v * v);
}

// Scores every place for bands along the columns of a bench turned by `angle`; keeps the best of each neighbourhood.
void scan_direction(const FlatBench& flat, double angle, const std::vector<double>& widths,
                    const ItemSearchRequest& request, std::vector<Seed>& seeds) {
    const int side = static_cast<int>(std::ceil(std::hypot(flat.lab_and_free.cols, flat.lab_and_free.rows))) | 1;
    const cv::Point2d middle((side - 1) / 2.0, (side - 1) / 2.0);
    const cv::Point2d centre((flat.lab_and_free.cols - 1) / 2.0, (flat.lab_and_free.rows - 1) / 2.0);
    // turned (x, y) -> flat: the column direction becomes (cos, sin) of the angle.
    const double c = std::cos(angle), s = std::sin(angle);
    const cv::Matx23d flat_from_turned(-s, c, centre.x + s * middle.x - c * middle.y, c, s,
                                       centre.y - c * middle.x - s * middle.y);
    cv::Mat turned;
    cv::warpAffine(flat.lab_and_free, turned, flat_from_turned, {side, side}, cv::INTER_LINEAR | cv::WARP_INVERSE_MAP,
                   cv::BORDER_CONSTANT, cv::Scalar::all(0));
    constexpr double run_mm = 20.0;
    cv::blur(turned, turned, {1, static_cast<int>(run_mm / cell_mm) | 1});

    constexpr int stride = 2;
    std::vector<cv::Vec4d> sums(static_cast<std::size_t>(side) + 1);
    for (int y = 0; y < side; y += stride) {
        const auto* row = turned.ptr<cv::Vec4f>(y);
        for (int x = 0; x < side; ++x)
            sums[static_cast<std::size_t>(x) + 1] = sums[static_cast<std::size_t>(x)] + cv::Vec4d(row[x]);
        const auto mean = [&](double from_mm, double to_mm, int x) {
            const int a = std::clamp(static_cast<int>(std::lround(x + from_mm / cell_mm)), 0, side - 1);
            const int b = std::clamp(static_cast<int>(std::lround(x + to_mm / cell_mm)), a + 1, side);
            return cv::Vec4f((sums[static_cast<std::size_t>(b)] - sums[static_cast<std::size_t>(a)]) * (1.0 / (b - a)));
        };
        for (int x = 0; x < side; x += stride) {
            if (row[x][3] < 0.98F) continue;
            Seed best;
            for (const double w : widths) {
                const cv::Vec4f in_left = mean(-0.46 * w, -0.15 * w, x), in_right = mean(0.15 * w, 0.46 * w, x);
                if (in_left[3] < 0.98F || in_right[3] < 0.98F) continue;
                const cv::Vec4f out_left = mean(-0.5 * w - 5, -0.5 * w - 1, x);
                const cv::Vec4f out_right = mean(0.5 * w + 1, 0.5 * w + 5, x);
                if (out_left[3] < 0.5F || out_right[3] < 0.5F) continue;
                const double score = std::min(colour_difference(in_left, out_left / out_left[3]),
                                              colour_difference(in_right, out_right / out_right[3])) *
                                     width_plausibility(w, request);
                if (score > best.score) {
                    const cv::Point2d cell(flat_from_turned(0, 0) * x + flat_from_turned(0, 1) * y + flat_from_turned(0, 2),
                                           flat_from_turned(1, 0) * x + flat_from_turned(1, 1) * y + flat_from_turned(1, 2));
                    best = {flat.bench_of(cell), angle, w, score};
                }
            }
            if (best.score > 4.0) seeds.push_back(best);
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

    // Colour difference of item to bench on the weaker side, for a band of this place and direction.
    // Negative where the place is not free.
    [[nodiscard]] double score(cv::Point2d at_mm, double angle, double width_mm) const {
        const cv::Point2d along(std::cos(angle), std::sin(angle));
        const cv::Point2d across(-along.y, along.x);
        std::array<cv::Vec4f, 2> inside{}, outside{};
        std::array<int, 2> inside_count{}, outside_count{};
        for (const double a : {-5.0, -2.5, 0.0, 2.5, 5.0}) {
            for (const int side : {0, 1}) {
                const double sign = side == 0 ? -1.0 : 1.0;
                const auto i = static_cast<std::size_t>(side);
                for (const double t : {0.15, 0.40}) {
                    const auto value = sample(at_mm + along * a + across * (sign * t * width_mm));
                    if (!value || (*value)[3] < 0.6F) return -1.0;
                    inside[i] += *value;
                    ++inside_count[i];
                }
                for (const double t : {1.2, 2.6, 4.0}) {
                    const auto value = sample(at_mm + along * a + across * (sign * (0.5 * width_mm + t)));
                    if (!value) continue;
                    outside[i] += *value;
                    ++outside_count[i];
                }
            }
        }
        double least = 1e9;
        for (const std::size_t i : {std::size_t{0}, std::size_t{1}}) {
            if (outside_count[i] < 5) return -1.0;
            least = std::min(least, static_cast<double>(colour_difference(
                                        inside[i] * (1.0F / static_cast<float>(inside_count[i])),
                                        outside[i] * (1.0F / static_cast<float>(outside_count[i])))));
        }
        return least;
    }

    struct Path {
        std::vector<cv::Point2d> points_mm;
        std::vector<double> scores;
        double last_angle = 0.0;
    };

    // Steps from `start` until the band is lost for longer than a fray is long, or the picture or card is reached.
    [[nodiscard]] Path follow(cv::Point2d start_mm, double angle, double usual_score) const {
        constexpr double bridge_mm = 40.0, most_mm = 1500.0;
        Path path;
        path.last_angle = angle;
        cv::Point2d at = start_mm;
        double lost_mm = 0.0;
        std::size_t good_until = 0;
        double good_angle = angle;
        for (double gone = 0; gone < most_mm; gone += track_step_mm) {
            double best = -1.0, best_angle = angle;
            cv::Point2d best_at;
            for (int turn = -3; turn <= 3; ++turn) {
                const double tried_angle = angle + turn * (std::numbers::pi / 45);
                const cv::Point2d along(std::cos(tried_angle), std::sin(tried_angle));
                const cv::Point2d across(-along.y, along.x);
                for (int shift = -2; shift <= 2; ++shift) {
                    const cv::Point2d tried = at + along * track_step_mm + across * (0.4 * shift);
                    // A straight course is preferred where colours say little, as in a fray.
                    const double value = score(tried, tried_angle, width_mm_) - 0.15 * std::abs(turn) - 0.05 * std::abs(shift);
                    if (value > best) {
                        best = value;
                        best_angle = tried_angle;
                        best_at = tried;
                    }
                }
            }
            if (best < 0) break;
            const bool good = best > 0.35 * usual_score;
            lost_mm = good ? 0.0 : lost_mm + track_step_mm;
            if (lost_mm > bridge_mm) break;
            at = good ? best_at : at + cv::Point2d(std::cos(angle), std::sin(angle)) * track_step_mm;
            if (good) angle = best_angle;
            path.points_mm.push_back(at);
            path.scores.push_back(std::max(0.0, best));
            if (good) {
                good_until = path.points_mm.size();
                good_angle = angle;
            }
        }
        path.points_mm.resize(good_until);
        path.scores.resize(good_until);
        path.last_angle = good_angle;
        return path;
    }

  private:
    // Bilinear between cells; empty outside the picture. The fourth channel tells how free the place is.
    [[nodiscard]] std::optional<cv::Vec4f> sample(cv::Point2d bench_mm) const {
        const cv::Point2d cell = flat_.cell_of(bench_mm);
        const int x = static_cast<int>(std::floor(cell.x)), y = static_cast<int>(std::floor(cell.y));
        if (x < 0 || y < 0 || x + 1 >= flat_.lab_and_free.cols || y + 1 >= flat_.lab_and_free.rows) return std::nullopt;
        if (!flat_.in_picture.at<uchar>(y, x) || !flat_.in_picture.at<uchar>(y + 1, x + 1)) return std::nullopt;
        const auto fx = static_cast<float>(cell.x - x), fy = static_cast<float>(cell.y - y);
        const auto* upper = flat_.lab_and_free.ptr<cv::Vec4f>(y) + x;
        const auto* lower = flat_.lab_and_free.ptr<cv::Vec4f>(y + 1) + x;
        return (1 - fy) * ((1 - fx) * upper[0] + fx * upper[1]) + fy * ((1 - fx) * lower[0] + fx * lower[1]);
    }

    const FlatBench& flat_;
    double width_mm_;
};

double median(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

bool leads_onto_card(cv::Point2d end_mm, double angle) {
    constexpr double margin_mm = 6.0;
    const cv::Rect2d well_inside(margin_mm, margin_mm, id1_width_mm - 2 * margin_mm, id1_height_mm - 2 * margin_mm);
    for (double ahead = 0; ahead <= 24; ahead += 2)
        if (well_inside.contains(end_mm + cv::Point2d(std::cos(angle), std::sin(angle)) * ahead)) return true;
    return false;
}

}  // namespace

std::optional<Track> find_item(const cv::Mat& reduced, int factor, const View& view, const ItemSearchRequest& request) {
    const auto flat = lay_flat(reduced, factor, view);
    if (!flat) return std::nullopt;
    const auto widths = candidate_widths(request);
    std::vector<Seed> seeds;
    constexpr int directions = 12;
    for (int i = 0; i < directions; ++i)
        scan_direction(*flat, std::numbers::pi * i / directions, widths, request, seeds);

    std::optional<Track> best;
    double best_total = 0.0;
    for (const Seed& seed : best_seeds(std::move(seeds), 10)) {
        // The scan's widths are coarse: the width that parts item and bench best at the seed, then at the track.
        double width = seed.width_mm, angle = seed.angle, score = -1.0;
        for (const double factor_of_width : {0.8, 0.9, 1.0, 1.1, 1.22})
            for (int turn = -3; turn <= 3; ++turn) {
                const double tried = seed.angle + turn * std::numbers::pi / 60;
                const Tracer tracer(*flat, factor_of_width * seed.width_mm);
                const double value = tracer.score(seed.bench_mm, tried, factor_of_width * seed.width_mm) *
                                     width_plausibility(factor_of_width * seed.width_mm, request);
                if (value > score) {
                    score = value;
                    width = factor_of_width * seed.width_mm;
                    angle = tried;
                }
            }
        if (score < 0) continue;
        const Tracer tracer(*flat, width);
        const double usual = tracer.score(seed.bench_mm, angle, width);
        const auto ahead = tracer.follow(seed.bench_mm, angle, usual);
        const auto behind = tracer.follow(seed.bench_mm, angle + std::numbers::pi, usual);
        Track track;
        track.width_mm = width;
        track.centre_mm.assign(behind.points_mm.rbegin(), behind.points_mm.rend());
        track.centre_mm.push_back(seed.bench_mm);
        track.centre_mm.insert(track.centre_mm.end(), ahead.points_mm.begin(), ahead.points_mm.end());
        std::vector<double> scores = ahead.scores;
        scores.insert(scores.end(), behind.scores.begin(), behind.scores.end());
        if (scores.size() < 12) continue;
        track.contrast = median(scores);
        track.runs_over_card =
            leads_onto_card(track.centre_mm.back(), ahead.last_angle) || leads_onto_card(track.centre_mm.front(), behind.last_angle);
        // Length tells an item from the clutter; contrast counts up to where it is plain.
        double total = 0.0;
        for (const double s : scores) total += std::min(s, 25.0);
        total *= width_plausibility(width, request);
        if (total > best_total) {
            best_total = total;
            best = std::move(track);
        }
    }
    return best;
}

}  // namespace frayhold::gauge
