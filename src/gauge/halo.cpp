// SPDX-License-Identifier: Apache-2.0
#include "gauge/halo.h"

#include <algorithm>
#include <cmath>

#include <opencv2/imgproc.hpp>

#include "gauge/fibre_cover.h"
#include "gauge/fibre_tracing.h"

namespace frayhold::gauge {
namespace {

constexpr double skin_mm = 0.35;   // beside the sound edge: blur and single surface yarns
constexpr double reach_mm = 30.0;  // no fibre is looked for farther out than this

double srgb_of_linear(double value) {
    const double v = std::clamp(value, 0.0, 1.0);
    return 255.0 * (v <= 0.0031308 ? 12.92 * v : 1.055 * std::pow(v, 1 / 2.4) - 0.055);
}

// What a thin fibre shows of the step from bench to fibre: all of its lightness, but of its colour only what the halved
// colour resolution of JPEG and HEIC leaves of a line one pixel wide.
cv::Vec3d thin_step(const cv::Vec3d& bench, const cv::Vec3d& fibre) {
    constexpr double colour_left = 0.4;
    cv::Vec3d step;
    for (int i = 0; i < 3; ++i) step[i] = srgb_of_linear(fibre[i]) - srgb_of_linear(bench[i]);
    const double luma = 0.114 * step[0] + 0.587 * step[1] + 0.299 * step[2];
    return cv::Vec3d::all((1 - colour_left) * luma) + colour_left * step;
}

// The rows about the fibres, with undamaged rows to either side.
class Stretch {
  public:
    Stretch(const Strip& strip, const StationLight& light, const SoundEdges& sound, const FibreCover& cover)
        : strip_(strip), sound_(sound), cover_(cover),
          rows_a_station_(light.row.size() > 1 ? static_cast<int>(std::lround(light.row[1] - light.row[0])) : 1) {
        constexpr std::size_t margin = 34, clear = 14;
        const auto stations = sound.left.size();
        std::size_t first = stations, last = 0;
        for (std::size_t s = 0; s < stations; ++s)
            if (cover.stirred[s]) {
                first = std::min(first, s);
                last = std::max(last, s);
            }
        first_ = first > margin ? first - margin : 0;
        last_ = std::min(stations - 1, last + margin);
        calm_.assign(stations, 1);
        for (std::size_t s = 0; s < stations; ++s)
            if (cover.stirred[s])
                std::fill(calm_.begin() + static_cast<std::ptrdiff_t>(s > clear ? s - clear : 0),
                          calm_.begin() + static_cast<std::ptrdiff_t>(std::min(stations, s + clear + 1)), char{0});
        const cv::Range range(static_cast<int>(first_) * rows_a_station_, std::min(strip.bgr.rows, static_cast<int>(last_ + 1) * rows_a_station_));
        bgr_ = strip.bgr.rowRange(range);
        seen_ = strip.seen.rowRange(range);
    }

    void trace(Halo& halo, double blur_mm) {
        paint_masks();
        cv::Mat colours;
        bgr_.convertTo(colours, CV_32FC3);
        const cv::Vec3d step = thin_step(cover_.bench, cover_.fibre);
        const cv::Vec3d weights = weights_of(colours, step);
        cv::Mat signal;
        cv::transform(colours, signal, cv::Mat(cv::Matx13f(cv::Vec3f(weights).t())));
        paint_item_over(signal);
        const FibreTracing tracing(signal, calm_bench_, strip_.mm_per_px);

        constexpr double least_toll = 1.6, dearer = 1.25, most_toll = 4.0;
        double toll = least_toll;
        while (true) {
            follow(tracing, toll, halo.left, halo.right);
            if (toll > most_toll || false_share(halo.left, halo.right) < 0.03) break;
            toll *= dearer;
        }
        follow(tracing, 1.5 * toll, halo.strict_left, halo.strict_right);
        const double visible = FibreTracing::response(blur_mm / strip_.mm_per_px) * weights.dot(step);
        halo.toll = toll;
        halo.finest_mm = toll * tracing.scatter() / visible * strip_.mm_per_px;
    }

  private:
    [[nodiscard]] std::size_t station_of(int row) const { return std::min(first_ + static_cast<std::size_t>(row / rows_a_station_), last_); }
    [[nodiscard]] int column(double across_mm) const {
        return std::clamp(static_cast<int>(std::lround(strip_.column_at(across_mm))), 0, bgr_.cols - 1);
    }

    // How far from the sound edge the share hidden stays plain, without a break.
    [[nodiscard]] double mass_edge(std::size_t s, double sound_mm, double side) const {
        const auto* row = cover_.share.ptr<float>(static_cast<int>(s));
        const double plain = std::max(0.25, 4 * cover_.scatter);
        const int cell = std::max(1, static_cast<int>(std::lround(0.5 / strip_.mm_per_px)));
        double t = sound_mm;
        while (std::abs(t) < reach_mm) {
            float sum = 0.0F;
            for (int i = 0; i < cell; ++i) sum += row[std::clamp(column(t) + static_cast<int>(side) * i, 0, bgr_.cols - 1)];
            if (sum < plain * cell) break;
            t += side * strip_.mm_per_px;
        }
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
                std::fill(mask.ptr<uchar>(r) + column(from_mm), mask.ptr<uchar>(r) + column(to_mm) + 1, uchar{1});
            };
            if (cover_.stirred[s])
                fill(roots_, std::min(left - skin_mm, mass_edge(s, left, -1.0)), std::max(right + skin_mm, mass_edge(s, right, 1.0)));
            else
                fill(roots_, left - skin_mm, right + skin_mm);
            if (!calm_[s]) continue;
            fill(calm_bench_, left - reach_mm, left - 0.5);
            fill(calm_bench_, right + 0.5, right + reach_mm);
        }
        calm_bench_ &= seen_;
    }

    [[nodiscard]] cv::Vec3d weights_of(const cv::Mat& colours, const cv::Vec3d& step) const {
        cv::Mat around;
        cv::blur(colours, around, {9, 9});
        cv::Matx33d covariance = cv::Matx33d::zeros();
        double n = 0;
        for (int r = 0; r < colours.rows; r += 2) {
            const auto* p = colours.ptr<cv::Vec3f>(r);
            const auto* a = around.ptr<cv::Vec3f>(r);
            const auto* m = calm_bench_.ptr<uchar>(r);
            for (int c = r / 2 % 2; c < colours.cols; c += 2) {
                if (!m[c]) continue;
                const cv::Vec3d v(p[c] - a[c]);
                covariance += v * v.t();
                n += 1;
            }
        }
        covariance *= 1.0 / std::max(1.0, n);
        // The floor stands for rounding to 8 bits and for JPEG, which alone would leave colours without scatter.
        for (int i = 0; i < 3; ++i) covariance(i, i) += 0.5;
        const cv::Vec3d weights = covariance.inv() * step;
        return weights / std::sqrt(std::max(1e-12, weights.dot(covariance * weights)));
    }

    // Row by row with what lies beside it, so that nothing near the item's edge is judged against the item.
    void paint_item_over(cv::Mat& signal) const {
        const int beside = std::max(1, static_cast<int>(std::lround(0.3 / strip_.mm_per_px)));
        for (int r = 0; r < signal.rows; ++r) {
            auto* p = signal.ptr<float>(r);
            const int a = left_edge_[static_cast<std::size_t>(r)], b = right_edge_[static_cast<std::size_t>(r)];
            float left = 0.0F, right = 0.0F;
            for (int i = 1; i <= beside; ++i) {
                left += p[std::max(0, a - i)];
                right += p[std::min(signal.cols - 1, b + i)];
            }
            std::fill(p + a, p + (a + b) / 2, left / static_cast<float>(beside));
            std::fill(p + (a + b) / 2, p + b + 1, right / static_cast<float>(beside));
        }
    }

    void follow(const FibreTracing& tracing, double toll, std::vector<double>& left, std::vector<double>& right) const {
        left = sound_.left;
        right = sound_.right;
        const auto far_left = tracing.outermost(roots_, left_edge_, -1, toll), far_right = tracing.outermost(roots_, right_edge_, 1, toll);
        for (int r = 0; r < bgr_.rows; ++r) {
            const auto i = static_cast<std::size_t>(r);
            const std::size_t s = station_of(r);
            const auto farthest = [&](int edge, int reached, double side) {
                int c = reached;
                if (cover_.stirred[s]) {  // the mass reaches where its share does
                    const auto* root = roots_.ptr<uchar>(r);
                    int mass = edge;
                    while (mass > 0 && mass < bgr_.cols - 1 && root[mass + static_cast<int>(side)]) mass += static_cast<int>(side);
                    c = side < 0 ? std::min(c, mass) : std::max(c, mass);
                }
                return c;
            };
            const int a = farthest(left_edge_[i], far_left[i], -1.0), b = farthest(right_edge_[i], far_right[i], 1.0);
            if (a < left_edge_[i]) left[s] = std::min(left[s], strip_.across_mm(a));
            if (b > right_edge_[i]) right[s] = std::max(right[s], strip_.across_mm(b));
        }
    }

    // Share of undamaged sides on which a fibre seems to be seen.
    [[nodiscard]] double false_share(const std::vector<double>& left, const std::vector<double>& right) const {
        constexpr double plain_mm = 1.2;
        double n = 0, seen = 0;
        for (std::size_t s = first_; s <= last_; ++s) {
            if (!calm_[s]) continue;
            n += 2;
            seen += (sound_.left[s] - left[s] > plain_mm) + (right[s] - sound_.right[s] > plain_mm);
        }
        return n > 0 ? seen / n : 0.0;
    }

    const Strip& strip_;
    const SoundEdges& sound_;
    const FibreCover& cover_;
    int rows_a_station_;
    std::size_t first_ = 0, last_ = 0;
    std::vector<char> calm_;  // stations well away from all fibres
    cv::Mat bgr_, seen_, roots_, calm_bench_;
    std::vector<int> left_edge_, right_edge_;
};

}  // namespace

Halo find_halo(const Strip& strip, const StationLight& light, const SoundEdges& sound, double blur_mm) {
    Halo halo{sound.left, sound.right, sound.left, sound.right, sound.left, sound.right, 0.0, 0.0, 0.0};
    const auto cover = fibre_cover(strip, light, sound);
    if (!cover) return halo;
    halo.cover_scatter = cover->scatter;
    if (std::count(cover->stirred.begin(), cover->stirred.end(), 1) < 3) return halo;
    Stretch(strip, light, sound, *cover).trace(halo, blur_mm);
    for (std::size_t s = 0; s < sound.left.size(); ++s) {
        if (!cover->stirred[s]) continue;
        halo.dense_left[s] = dense_edge_mm(*cover, strip, s, sound.left[s], -1.0);
        halo.dense_right[s] = dense_edge_mm(*cover, strip, s, sound.right[s], 1.0);
    }
    return halo;
}

}  // namespace frayhold::gauge
