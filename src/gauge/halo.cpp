// SPDX-License-Identifier: Apache-2.0
#include "gauge/halo.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <opencv2/imgproc.hpp>

#include "gauge/colour.h"
#include "gauge/fibre_cover.h"
#include "gauge/fibre_tracing.h"
#include "gauge/fray_doubt.h"
#include "gauge/line_evidence.h"

namespace frayhold::gauge {
namespace {

constexpr double skin_mm = 0.35;   // beside the sound edge: blur and single surface yarns
constexpr double reach_mm = 30.0;  // no fibre is looked for farther out than this
// A fibre's light varies with how it turns to the lamp: on a bench of like lightness one may vanish.
constexpr std::array<double, 3> light_caught{0.75, 1.0, 1.2};

// What a thin fibre shows of the step from bench to fibre: all of its lightness, but of its colour only what
// the halved colour resolution of JPEG and HEIC leaves of a line one pixel wide.
cv::Vec3d thin_step(const cv::Vec3d& bench, const cv::Vec3d& fibre) {
    // Halving leaves a little over half of it; of a faint line, quantizing takes half of that again.
    constexpr double colour_left = 0.3;
    cv::Vec3d step;
    for (int i = 0; i < 3; ++i) step[i] = 255.0 * srgb_of_linear(fibre[i]) - 255.0 * srgb_of_linear(bench[i]);
    const double luma = 0.114 * step[0] + 0.587 * step[1] + 0.299 * step[2];
    return cv::Vec3d::all((1 - colour_left) * luma) + colour_left * step;
}

constexpr std::size_t margin = 28,
                      clear =
                          14;  // stations: looked at beside the fibres; too close to them to be called bare

// Stations [first, last] with fibres, those with room for undamaged stations in between apart.
struct StationRange {
    std::size_t first, last;
};
std::vector<StationRange> frayed_stretches(const std::vector<char>& stirred) {
    std::vector<StationRange> stretches;
    for (std::size_t s = 0; s < stirred.size(); ++s) {
        if (!stirred[s]) continue;
        if (!stretches.empty() && s - stretches.back().last < margin + clear)
            stretches.back().last = s;
        else
            stretches.push_back({s, s});
    }
    return stretches;
}

// The rows about one fray, with undamaged rows to either side.
class Stretch {
  public:
    Stretch(const Strip& strip, const StationLight& light, const SoundEdges& sound, const FibreCover& cover,
            StationRange frayed)
        : strip_(strip),
          light_(light),
          sound_(sound),
          cover_(cover),
          rows_a_station_(static_cast<int>(std::lround(light.rows_a_station()))) {
        const auto stations = sound.left.size();
        first_ = frayed.first > margin ? frayed.first - margin : 0;
        last_ = std::min(stations - 1, frayed.last + margin);
        calm_.assign(stations, 1);
        for (std::size_t s = 0; s < stations; ++s)
            if (cover.stirred[s])
                std::fill(calm_.begin() + static_cast<std::ptrdiff_t>(s > clear ? s - clear : 0),
                          calm_.begin() + static_cast<std::ptrdiff_t>(std::min(stations, s + clear + 1)),
                          char{0});
        const cv::Range range(static_cast<int>(first_) * rows_a_station_,
                              std::min(strip.bgr.rows, static_cast<int>(last_ + 1) * rows_a_station_));
        // Finer than this shows no finer fibres, only takes longer.
        constexpr double fine_enough_mm = 0.1;
        fold_ = std::max(1, static_cast<int>(std::lround(fine_enough_mm / strip.mm_per_px)));
        mm_per_px_ = strip.mm_per_px * fold_;
        const cv::Size size(strip.bgr.cols / fold_, range.size() / fold_);
        const cv::Rect whole(0, range.start, size.width * fold_, size.height * fold_);
        cv::resize(strip.bgr(whole), bgr_, size, 0, 0, cv::INTER_AREA);
        cv::resize(strip.seen(whole), seen_, size, 0, 0, cv::INTER_NEAREST);
    }

    void trace(Halo& halo, double blur_mm) {
        paint_masks();
        const cv::Vec3d step = thin_step(cover_.bench, cover_.fibre);
        const cv::Vec3d weights = weights_of(step);
        cv::Mat signal = signal_of(weights);
        paint_item_over(signal);
        const LineEvidence evidence(signal, calm_bench_, mm_per_px_);
        const FibreTracing tracing(evidence, mm_per_px_);

        const cv::Range all(0, bgr_.rows);
        // In a fray paths start from every fibre, on an undamaged stretch from the item alone: ask for
        // somewhat more.
        constexpr double safe = 1.25;
        const auto step_of = [&](const cv::Vec3d& fibre) {
            return weights.dot(thin_step(cover_.bench, fibre));
        };
        // Of a line that shows as much as the toll asks for.
        const double mm_a_toll =
            evidence.scatter() * mm_per_px_ / LineEvidence::response(blur_mm / mm_per_px_);
        const double least = calm_toll(tracing), toll = safe * least;
        follow(tracing, least, all, halo.loose_left, halo.loose_right);
        Rows rows{halo.row_left, halo.row_right};
        const std::vector<double> plainness = follow(tracing, toll, all, halo.left, halo.right, &rows);
        follow(tracing, safe * toll, all, halo.strict_left, halo.strict_right);
        // Those that show may be of a tracer yarn, while the sheath's own are of the bench's colour: where
        // these would show by far less, beyond what their light is doubted by, they decide.
        constexpr double by_far = 1.0 / 3;
        const bool others_hidden = step_of(cover_.sheath_fibre) < by_far * step_of(cover_.fibre);
        const cv::Vec3d& fibre = others_hidden ? cover_.sheath_fibre : cover_.fibre;
        if (!others_hidden) halo.plainness.insert(halo.plainness.end(), plainness.begin(), plainness.end());
        const double asked = toll * mm_a_toll;
        halo.toll = std::max(halo.toll, toll);
        for (std::size_t side = 0; side < 2; ++side) {
            const cv::Vec3d bench = bench_beside(side == 0 ? -1.0 : 1.0);
            for (std::size_t i = 0; i < light_caught.size(); ++i) {
                double& finest = halo.finest_mm[side * light_caught.size() + i];
                const double shown = weights.dot(thin_step(bench, light_caught[i] * fibre));
                finest = std::max(finest, asked / std::max(1e-6, shown));
            }
        }
    }

  private:
    // The bare bench's light where most fibres lie over it on one side, in the item's shadow or out of it.
    [[nodiscard]] cv::Vec3d bench_beside(double side) const {
        constexpr double from_mm = 1.0, to_mm = 6.0;
        cv::Vec3d sum;
        double count = 0.0;
        for (std::size_t s = first_; s <= last_; ++s) {
            if (!calm_[s]) continue;
            const double edge = side < 0 ? sound_.left[s] : sound_.right[s];
            const auto at = [&](double beyond_mm) {
                return std::clamp(static_cast<int>(std::lround(strip_.column_at(edge + side * beyond_mm))), 0,
                                  light_.mean.cols - 1);
            };
            const int a = at(from_mm), b = at(to_mm);
            const auto* mean = light_.mean.ptr<cv::Vec3f>(static_cast<int>(s));
            const auto* seen = light_.seen.ptr<float>(static_cast<int>(s));
            for (int c = std::min(a, b); c <= std::max(a, b); ++c) {
                sum += cv::Vec3d(mean[c]) * static_cast<double>(seen[c]);
                count += static_cast<double>(seen[c]);
            }
        }
        return count > 0 ? sum / count : cover_.bench;
    }

    [[nodiscard]] std::size_t station_of(int row) const {
        return std::min(first_ + static_cast<std::size_t>(row * fold_ / rows_a_station_), last_);
    }
    [[nodiscard]] int column(double across_mm) const {
        return std::clamp(static_cast<int>(std::lround((strip_.column_at(across_mm) + 0.5) / fold_ - 0.5)), 0,
                          bgr_.cols - 1);
    }
    [[nodiscard]] double across_mm(int column) const {
        return strip_.across_mm((column + 0.5) * fold_ - 0.5);
    }

    // How far from the sound edge the share hidden stays plain, without a break.
    [[nodiscard]] double mass_edge(std::size_t s, double sound_mm, double side) const {
        const auto* row = cover_.share.ptr<float>(static_cast<int>(s));
        const double plain = std::max(0.25, 4 * cover_.scatter);
        const int cell = std::max(1, static_cast<int>(std::lround(0.5 / strip_.mm_per_px)));
        const auto plain_at = [&](double t) {
            const int c = static_cast<int>(std::lround(strip_.column_at(t)));
            float sum = 0.0F;
            for (int i = 0; i < cell; ++i)
                sum += row[std::clamp(c + static_cast<int>(side) * i, 0, cover_.share.cols - 1)];
            return sum >= static_cast<float>(plain * cell);
        };
        double t = sound_mm + side * clear_of_blur_mm;
        if (!plain_at(t)) t = sound_mm;
        while (std::abs(t - sound_mm) < reach_mm && plain_at(t)) t += side * strip_.mm_per_px;
        return t;
    }

    void paint_masks() {
        roots_ = cv::Mat::zeros(bgr_.size(), CV_8U);
        calm_bench_ = roots_.clone();
        for (int r = 0; r < bgr_.rows; ++r) {
            const std::size_t s = station_of(r);
            const double left = sound_.left[s], right = sound_.right[s];
            left_edge_.push_back(column(left - skin_mm));
            right_edge_.push_back(column(right + skin_mm));
            const auto fill = [&](cv::Mat& mask, double from_mm, double to_mm) {
                std::fill(mask.ptr<uchar>(r) + column(from_mm), mask.ptr<uchar>(r) + column(to_mm) + 1,
                          uchar{1});
            };
            const double root_left =
                cover_.stirred[s] ? std::min(left - skin_mm, mass_edge(s, left, -1.0)) : left - skin_mm;
            const double root_right =
                cover_.stirred[s] ? std::max(right + skin_mm, mass_edge(s, right, 1.0)) : right + skin_mm;
            left_root_.push_back(column(root_left));
            right_root_.push_back(column(root_right));
            fill(roots_, root_left, root_right);
            if (!calm_[s]) continue;
            fill(calm_bench_, left - reach_mm, left - 0.5);
            fill(calm_bench_, right + 0.5, right + reach_mm);
        }
        calm_bench_ &= seen_;
    }

    static constexpr int band_rows = 64;
    [[nodiscard]] int bands() const { return (bgr_.rows + band_rows - 1) / band_rows; }

    // Does `work` for some rows after the others, given their colours as CV_32FC3 with up to `room` rows more
    // at either end: all of them at once would take several times the picture's memory.
    template <class Work>
    void by_bands(int room, const Work& work) const {
        cv::parallel_for_({0, bands()}, [&](const cv::Range& range) {
            cv::Mat colours;
            for (int i = range.start; i < range.end; ++i) {
                const cv::Range rows(i * band_rows, std::min(bgr_.rows, (i + 1) * band_rows));
                const cv::Range with_room(std::max(0, rows.start - room),
                                          std::min(bgr_.rows, rows.end + room));
                bgr_.rowRange(with_room).convertTo(colours, CV_32FC3);
                work(i, rows, colours, rows.start - with_room.start);
            }
        });
    }

    [[nodiscard]] cv::Mat signal_of(const cv::Vec3d& weights) const {
        cv::Mat signal(bgr_.size(), CV_32F);
        const cv::Mat row(cv::Matx13f(cv::Vec3f(weights).t()));
        by_bands(0, [&](int, cv::Range rows, const cv::Mat& colours, int) {
            cv::Mat part = signal.rowRange(rows);
            cv::transform(colours, part, row);
        });
        return signal;
    }

    [[nodiscard]] cv::Vec3d weights_of(const cv::Vec3d& step) const {
        struct Scatter {
            cv::Matx33d sum = cv::Matx33d::zeros();
            double count = 0;
        };
        constexpr int about = 9;
        std::vector<Scatter> scatters(static_cast<std::size_t>(bands()));  // added up in one order
        by_bands(about / 2, [&](int band, cv::Range rows, const cv::Mat& colours, int first) {
            cv::Mat around;
            cv::blur(colours, around, {about, about});
            Scatter& scatter = scatters[static_cast<std::size_t>(band)];
            for (int r = rows.start + rows.start % 2; r < rows.end; r += 2) {
                const auto* p = colours.ptr<cv::Vec3f>(first + r - rows.start);
                const auto* a = around.ptr<cv::Vec3f>(first + r - rows.start);
                const auto* m = calm_bench_.ptr<uchar>(r);
                for (int c = r / 2 % 2; c < colours.cols; c += 2) {
                    if (!m[c]) continue;
                    const cv::Vec3d v(p[c] - a[c]);
                    scatter.sum += v * v.t();
                    scatter.count += 1;
                }
            }
        });
        cv::Matx33d covariance = cv::Matx33d::zeros();
        double n = 0;
        for (const Scatter& scatter : scatters) {
            covariance += scatter.sum;
            n += scatter.count;
        }
        covariance *= 1.0 / std::max(1.0, n);
        // The floor stands for rounding to 8 bits and for JPEG, which alone would leave colours without
        // scatter.
        for (int i = 0; i < 3; ++i) covariance(i, i) += 0.5;
        const cv::Vec3d weights = covariance.inv() * step;
        return weights / std::sqrt(std::max(1e-12, weights.dot(covariance * weights)));
    }

    // Row by row with what lies beside it, so that nothing near the item's edge is judged against the item.
    void paint_item_over(cv::Mat& signal) const {
        const int beside = std::max(1, static_cast<int>(std::lround(0.3 / mm_per_px_)));
        for (int r = 0; r < signal.rows; ++r) {
            auto* p = signal.ptr<float>(r);
            const int a = left_edge_[static_cast<std::size_t>(r)],
                      b = right_edge_[static_cast<std::size_t>(r)];
            float left = 0.0F, right = 0.0F;
            for (int i = 1; i <= beside; ++i) {
                left += p[std::max(0, a - i)];
                right += p[std::min(signal.cols - 1, b + i)];
            }
            std::fill(p + a, p + (a + b) / 2, left / static_cast<float>(beside));
            std::fill(p + (a + b) / 2, p + b + 1, right / static_cast<float>(beside));
        }
    }

    // The outermost fibres row by row of the strip.
    struct Rows {
        std::vector<double>&left, &right;
    };

    // Gives how plain each fibre is that was followed.
    std::vector<double> follow(const FibreTracing& tracing, double toll, cv::Range rows,
                               std::vector<double>& left, std::vector<double>& right,
                               const Rows* by_rows = nullptr) const {
        const auto first = static_cast<std::ptrdiff_t>(station_of(rows.start)),
                   last = static_cast<std::ptrdiff_t>(station_of(rows.end - 1)) + 1;
        std::copy(sound_.left.begin() + first, sound_.left.begin() + last, left.begin() + first);
        std::copy(sound_.right.begin() + first, sound_.right.begin() + last, right.begin() + first);
        FibreTracing::Followed on_left, on_right;
        cv::parallel_for_({0, 2}, [&](const cv::Range& range) {
            for (int side = range.start; side < range.end; ++side)
                (side == 0 ? on_left : on_right) = tracing.outermost(
                    roots_, side == 0 ? left_edge_ : right_edge_, side == 0 ? -1 : 1, toll, rows);
        });
        for (int r = rows.start; r < rows.end; ++r) {
            const auto i = static_cast<std::size_t>(r);
            const auto k = static_cast<std::size_t>(r - rows.start);
            const std::size_t s = station_of(r);
            // The mass reaches where its share does.
            const int a = std::min(on_left.column[k], left_root_[i]),
                      b = std::max(on_right.column[k], right_root_[i]);
            const auto reaches = [&](bool beyond, double to_mm, std::vector<double>& station,
                                     std::vector<double>* row, const auto& farther) {
                if (!beyond) return;
                station[s] = farther(station[s], to_mm);
                if (!by_rows) return;
                const auto first_row =
                    first_ * static_cast<std::size_t>(rows_a_station_) + i * static_cast<std::size_t>(fold_);
                std::fill_n(row->begin() + static_cast<std::ptrdiff_t>(first_row), fold_, to_mm);
            };
            reaches(a < left_edge_[i], across_mm(a), left, by_rows ? &by_rows->left : nullptr,
                    [](double x, double y) { return std::min(x, y); });
            reaches(b > right_edge_[i], across_mm(b), right, by_rows ? &by_rows->right : nullptr,
                    [](double x, double y) { return std::max(x, y); });
        }
        std::vector<double> plainness = std::move(on_left.plainness);
        plainness.insert(plainness.end(), on_right.plainness.begin(), on_right.plainness.end());
        return plainness;
    }

    // The least evidence to ask for at which undamaged stretches show next to no fibres.
    [[nodiscard]] double calm_toll(const FibreTracing& tracing) const {
        constexpr double least_toll = 0.8, dearer = 1.15, most_toll = 5.0;
        std::vector<cv::Range> stretches;
        for (int r = 0; r < bgr_.rows; ++r) {
            if (!calm_[station_of(r)]) continue;
            if (!stretches.empty() && stretches.back().end == r)
                stretches.back().end = r + 1;
            else
                stretches.emplace_back(r, r + 1);
        }
        std::vector<double> tolls{least_toll};
        while (tolls.back() < most_toll) tolls.push_back(tolls.back() * dearer);
        // The last is taken untried.
        return *std::partition_point(tolls.begin(), tolls.end() - 1,
                                     [&](double toll) { return !bare_at(tracing, toll, stretches); });
    }

    // Whether undamaged stretches show next to no fibres, and no long one, at this toll.
    [[nodiscard]] bool bare_at(const FibreTracing& tracing, double toll,
                               const std::vector<cv::Range>& stretches) const {
        constexpr double plain_mm = 1.2, long_mm = 4.0, few = 0.03;
        std::vector<double> left = sound_.left, right = sound_.right;
        const auto stations = [&](const cv::Range& rows) {
            return station_of(rows.end - 1) + 1 - station_of(rows.start);
        };
        double sides = 0, seen = 0;
        for (const cv::Range& rows : stretches) sides += 2.0 * static_cast<double>(stations(rows));
        for (const cv::Range& rows : stretches) {
            follow(tracing, toll, rows, left, right);
            const std::size_t from = station_of(rows.start);
            for (std::size_t s = from; s < from + stations(rows); ++s)
                for (const double beyond : {sound_.left[s] - left[s], right[s] - sound_.right[s]}) {
                    if (beyond >= long_mm) return false;
                    seen += beyond > plain_mm;
                }
            // At a low toll, following takes longest: no more of it than is needed to tell.
            if (seen > few * sides) return false;
        }
        return true;
    }

    const Strip& strip_;
    const StationLight& light_;
    const SoundEdges& sound_;
    const FibreCover& cover_;
    int rows_a_station_;      // of the strip
    int fold_ = 1;            // rows and columns of the strip in one of the pictures below
    double mm_per_px_ = 0.0;  // of those
    std::size_t first_ = 0, last_ = 0;
    std::vector<char> calm_;  // stations well away from all fibres
    cv::Mat bgr_, seen_, roots_, calm_bench_;
    std::vector<int> left_edge_, right_edge_;  // of the item with its skin
    std::vector<int> left_root_, right_root_;  // to where the mass of fibres reaches
};

// How much plainer a fibre must be than a long one to be followed.
double plainer_at(double fibre_mm) {
    return 1 + FibreTracing::least_gain_mm / fibre_mm;
}

}  // namespace

double Halo::unseen_on_bench(double reach_mm) const {
    double share = 0.0;
    for (const double finest : finest_mm)
        share += std::clamp((finest * plainer_at(reach_mm) - thinnest_fibre_mm) /
                                (thickest_fibre_mm - thinnest_fibre_mm),
                            0.0, 1.0) /
                 static_cast<double>(finest_mm.size());
    return share;
}

double Halo::unseen_share(double reach_mm) const {
    // What the bench lets expect counts as much as this many fibres that were seen.
    constexpr double expected = 20.0, half_as_plain_again = 1.5;
    const double least = plainer_at(reach_mm);
    double seen = 0.0, faint = 0.0;
    for (const double plain : plainness) {
        seen += plain >= least;
        faint += plain >= least && plain < half_as_plain_again * least;
    }
    const double unseen = faint / (half_as_plain_again - 1);
    return (expected * unseen_on_bench(reach_mm) + unseen * seen / std::max(1.0, seen + unseen)) /
           (expected + seen);
}

Halo find_halo(const Strip& strip, const StationLight& light, const SoundEdges& sound, double blur_mm) {
    Halo halo;
    halo.left = halo.strict_left = halo.loose_left = halo.dense_left = halo.dense_loose_left =
        halo.dense_strict_left = sound.left;
    halo.right = halo.strict_right = halo.loose_right = halo.dense_right = halo.dense_loose_right =
        halo.dense_strict_right = sound.right;
    const auto rows_a_station = static_cast<std::size_t>(std::lround(light.rows_a_station()));
    for (std::size_t s = 0; s < sound.left.size(); ++s) {
        halo.row_left.insert(halo.row_left.end(), rows_a_station, sound.left[s]);
        halo.row_right.insert(halo.row_right.end(), rows_a_station, sound.right[s]);
    }
    halo.cover = fibre_cover(strip, light, sound);
    const auto& cover = halo.cover;
    if (!cover) return halo;
    if (std::count(cover->stirred.begin(), cover->stirred.end(), 1) < 3) return halo;
    for (const StationRange frayed : frayed_stretches(cover->stirred))
        Stretch(strip, light, sound, *cover, frayed).trace(halo, blur_mm);
    for (std::size_t s = 0; s < sound.left.size(); ++s) {
        if (!cover->stirred[s]) continue;
        constexpr double half = 0.5, step = 0.12;
        const auto place = [&](std::vector<double>& left, std::vector<double>& right, double share) {
            left[s] = dense_edge_mm(*cover, strip, s, sound.left[s], -1.0, share);
            right[s] = dense_edge_mm(*cover, strip, s, sound.right[s], 1.0, share);
        };
        place(halo.dense_left, halo.dense_right, half);
        place(halo.dense_loose_left, halo.dense_loose_right, half - step);
        place(halo.dense_strict_left, halo.dense_strict_right, half + step);
    }
    return halo;
}

}  // namespace frayhold::gauge
