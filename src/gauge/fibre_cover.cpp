// SPDX-License-Identifier: Apache-2.0
#include "gauge/fibre_cover.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "gauge/light.h"

namespace frayhold::gauge {
namespace {

constexpr double reach_mm = 30.0;       // of the bench that is looked at on either side
constexpr std::size_t longest_gap = 3;  // stations without fibres within a stretch of them

float middle_of(std::vector<float>& values, double share = 0.5) {
    const auto at =
        values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return *at;
}

// The running median over the stations, column by column, on a coarse grid.
cv::Mat usual_light(const cv::Mat& cells) {
    constexpr int every = 8, reach = 64, step = 2;
    const int knots = std::max(1, (cells.rows + every - 1) / every);
    cv::Mat coarse(knots, cells.cols, CV_32FC3);
    cv::parallel_for_({0, knots}, [&](const cv::Range& range) {
        std::vector<float> values;
        for (int k = range.start; k < range.end; ++k) {
            const int from = std::max(0, std::min(k * every + every / 2 - reach, cells.rows - 2 * reach));
            const int to = std::min(cells.rows, from + 2 * reach);
            for (int c = 0; c < cells.cols; ++c)
                for (int channel = 0; channel < 3; ++channel) {
                    values.clear();
                    for (int r = from; r < to; r += step)
                        values.push_back(cells.at<cv::Vec3f>(r, c)[channel]);
                    coarse.at<cv::Vec3f>(k, c)[channel] = middle_of(values);
                }
        }
    });
    return coarse;
}

struct Scatter {
    cv::Matx33d covariance;
    double count = 0;
};

// Covariance of cells beside the item, once all and once without rare ones.
Scatter scatter_of(const std::vector<cv::Vec3f>& cells) {
    Scatter out;
    double most = std::numeric_limits<double>::infinity();
    for (int round = 0; round < 2; ++round) {
        out = {};
        for (const cv::Vec3f& cell : cells) {
            const cv::Vec3d v(cell);
            if (v.dot(v) > most) continue;
            out.covariance += v * v.t();
            out.count += 1;
        }
        out.covariance *= 1.0 / std::max(1.0, out.count);
        most = 9.0 * cv::trace(out.covariance);
    }
    return out;
}

cv::Vec3d mean_inside(const StationLight& light, const Strip& strip, const SoundEdges& sound,
                      const std::vector<char>* only) {
    cv::Vec3d sum;
    double n = 0;
    for (std::size_t s = 0; s < sound.left.size(); ++s) {
        if (only && !(*only)[s]) continue;
        const auto* row = light.mean.ptr<cv::Vec3f>(static_cast<int>(s));
        const int a =
            std::clamp(static_cast<int>(strip.column_at(0.85 * sound.left[s])), 0, strip.bgr.cols - 1);
        const int b =
            std::clamp(static_cast<int>(strip.column_at(0.85 * sound.right[s])), a, strip.bgr.cols - 1);
        for (int c = a; c <= b; ++c) sum += cv::Vec3d(row[c]);
        n += b - a + 1;
    }
    return sum / std::max(1.0, n);
}

// The light that half the item's places are darker than, colour by colour: tracer yarns have no say in it.
cv::Vec3d usual_inside(const StationLight& light, const Strip& strip, const SoundEdges& sound) {
    std::array<std::vector<float>, 3> values;
    constexpr std::size_t every = 3;
    for (std::size_t s = 0; s < sound.left.size(); s += every) {
        const auto* row = light.mean.ptr<cv::Vec3f>(static_cast<int>(s));
        const int a =
            std::clamp(static_cast<int>(strip.column_at(0.85 * sound.left[s])), 0, strip.bgr.cols - 1);
        const int b =
            std::clamp(static_cast<int>(strip.column_at(0.85 * sound.right[s])), a, strip.bgr.cols - 1);
        for (int c = a; c <= b; ++c)
            for (std::size_t channel = 0; channel < 3; ++channel)
                values[channel].push_back(row[c][static_cast<int>(channel)]);
    }
    return {middle_of(values[0]), middle_of(values[1]), middle_of(values[2])};
}

// A loose fibre is lit on its own and shows paler than the sheath it came from.
cv::Vec3d paled(const cv::Vec3d& sheath) {
    return 0.8 * sheath + 0.2 * cv::Vec3d::all(0.6);
}

// Stations [from, to) with fibres, and how plainly they show them, in standard deviations.
struct PlainStretch {
    std::size_t from = 0, to = 0;
    double evidence = 0.0;
};

class CoverEstimate {
  public:
    CoverEstimate(const Strip& strip, const StationLight& light, const SoundEdges& sound)
        : strip_(strip), light_(light), sound_(sound) {
        const int columns = std::max(8, static_cast<int>(std::lround(strip.bgr.cols * strip.mm_per_px)));
        cv::Mat cells;
        cv::resize(light.mean, cells, {columns, light.mean.rows}, 0, 0, cv::INTER_AREA);
        const cv::Mat coarse = usual_light(cells);
        cv::Mat usual;
        cv::resize(coarse, usual, cells.size(), 0, 0, cv::INTER_LINEAR);
        cv::resize(coarse, usual_, light.mean.size(), 0, 0, cv::INTER_LINEAR);
        const double cell_mm = strip.mm_per_px * strip.bgr.cols / columns;
        for (std::size_t s = 0; s < sound.left.size(); s += 2)
            for (int c = 0; c < columns; ++c) {
                const double t = (c + 0.5) * cell_mm - (strip.middle + 0.5) * strip.mm_per_px;
                const double beyond = std::max(sound.left[s] - t, t - sound.right[s]);
                if (beyond < 1.0 || beyond > reach_mm ||
                    light.seen.at<float>(static_cast<int>(s), strip_column(t)) < 0.5F)
                    continue;
                bare_.push_back(cells.at<cv::Vec3f>(static_cast<int>(s), c) -
                                usual.at<cv::Vec3f>(static_cast<int>(s), c));
                bench_ += cv::Vec3d(usual.at<cv::Vec3f>(static_cast<int>(s), c));
            }
        if (!bare_.empty()) bench_ *= 1.0 / static_cast<double>(bare_.size());
        scatter_ = scatter_of(bare_);
    }

    [[nodiscard]] bool enough_bench() const { return bare_.size() > 200; }

    // Of the three colours, to tell such fibre from bench best; their sum is not set.
    [[nodiscard]] cv::Vec3d weights_for(const cv::Vec3d& fibre) const {
        return noise().inv() * (fibre - bench_);
    }

    // Gives the stretch that shows such fibres most plainly.
    PlainStretch estimate(FibreCover& cover, const cv::Vec3d& fibre) const {
        cover.bench = bench_;
        cover.fibre = fibre;
        cover.scatter = 1 / std::sqrt(information(weights_for(fibre), fibre));
        return find_stirred(cover);
    }

    // The share hidden by fibres of the light that the cover holds.
    void fill_share(FibreCover& cover) const {
        const cv::Vec3d raw = weights_for(cover.fibre);
        // In the item's shadow the bench itself is darker, and a fibre makes another step there. No less than
        // two fifths of the usual one is believed, since in deep shade fibres are dimmer too.
        constexpr double least_step = 0.4, most_step = 2.5;
        const double usual_step = information(raw, cover.fibre);
        const cv::Vec3f weights(raw);
        const auto fibre = static_cast<float>(raw.dot(cover.fibre)),
                   least = static_cast<float>(least_step * usual_step),
                   most = static_cast<float>(most_step * usual_step);
        cover.share.create(light_.mean.size(), CV_32F);
        for (int s = 0; s < cover.share.rows; ++s) {
            const auto* from = light_.mean.ptr<cv::Vec3f>(s);
            const auto* usual = usual_.ptr<cv::Vec3f>(s);
            auto* to = cover.share.ptr<float>(s);
            for (int c = 0; c < cover.share.cols; ++c) {
                const float bare = usual[c].dot(weights);
                to[c] = (from[c].dot(weights) - bare) / std::clamp(fibre - bare, least, most);
            }
        }
    }

    // Light of the fibres from where they lie thickest beside the item: its hue is read there; how far it
    // goes from the bench, there or on the item's lit side, which they cover too, or at single pixels that a
    // fibre covers, whichever is most: a few bright fibres on a bench of their item's lightness are not a
    // mass. weights: of the three colours in the share; none where no light is believed yet.
    [[nodiscard]] cv::Vec3d fibre_beside(const std::vector<char>& stirred,
                                         const std::optional<cv::Vec3d>& weights) const {
        constexpr double from_mm = 0.5, to_mm = 1.5, thickest_share = 0.15, cover_there = 0.9;
        // By the share that the light believed so far makes of it: a tracer yarn that stands beside a
        // misplaced edge, or a knot in the wood, changes the light more than fibres do, but otherwise.
        std::vector<std::pair<double, cv::Vec3d>> cells;
        for (std::size_t s = 0; s < stirred.size(); ++s) {
            if (!stirred[s]) continue;
            for (const double side : {-1.0, 1.0}) {
                const cv::Vec3d sum = change_beside(s, side, from_mm, to_mm);
                cells.emplace_back(weights ? sum.dot(*weights) : cv::norm(sum), sum);
            }
        }
        std::sort(cells.begin(), cells.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
        cells.resize(std::max<std::size_t>(
            1, static_cast<std::size_t>(thickest_share * static_cast<double>(cells.size()))));
        cv::Vec3d step;
        for (const auto& cell : cells) step += cell.second / static_cast<double>(cells.size());
        const double there = cv::norm(step);
        if (there < 1e-6) return mean_inside(light_, strip_, sound_, &stirred);
        const cv::Vec3d hue = step / there;
        constexpr double brightest = 1.2;  // of fibres turned to the lamp, as a share of the usual
        const double at_pixels =
            (farthest_beside(stirred, true, hue) - farthest_beside(stirred, false, hue)) / brightest;
        return bench_ + hue * std::max({there / cover_there, lit_side(stirred, hue), at_pixels});
    }

    // Stations where the light beside either edge is not what the bench shows elsewhere, whatever the fibres'
    // own light may be: by Mahalanobis' distance of its three colours. For a rope of the bench's own
    // lightness.
    [[nodiscard]] std::vector<char> changed_light() const {
        const std::size_t stations = sound_.left.size();
        std::vector<char> changed(stations, 0);
        for (const double side : {-1.0, 1.0}) {
            std::vector<cv::Vec3f> beside(stations);
            for (std::size_t s = 0; s < stations; ++s) {
                beside[s] = change_beside(s, side, 0.5, 2.5);
            }
            cv::Matx33d covariance = scatter_of(beside).covariance;
            for (int i = 0; i < 3; ++i) covariance(i, i) += 4e-6;  // rounding and JPEG
            const cv::Matx33d inverse = covariance.inv();
            constexpr double plain = 3.5;
            for (std::size_t s = 0; s < stations; ++s) {
                const cv::Vec3d v(beside[s]);
                if (v.dot(inverse * v) > plain * plain) changed[s] = 1;
            }
        }
        leave_out_short(changed);
        return changed;
    }

  private:
    // How far the fibres' light stands from the bench's, squared, in standard deviations.
    [[nodiscard]] double information(const cv::Vec3d& weights, const cv::Vec3d& fibre) const {
        return std::max(1e-9, weights.dot(fibre - bench_));
    }

    [[nodiscard]] cv::Matx33d noise() const {
        cv::Matx33d covariance = scatter_.covariance;
        for (int i = 0; i < 3; ++i) covariance(i, i) += 4e-6;  // rounding and JPEG
        return covariance;
    }

    // How the light between two distances outward of one edge differs, on the mean, from what the bench
    // usually shows there.
    [[nodiscard]] cv::Vec3d change_beside(std::size_t s, double side, double from_mm, double to_mm) const {
        const double edge = side < 0 ? sound_.left[s] : sound_.right[s];
        const int a = strip_column(edge + side * from_mm), b = strip_column(edge + side * to_mm);
        cv::Vec3d sum;
        for (int c = std::min(a, b); c <= std::max(a, b); ++c)
            sum += cv::Vec3d(light_.mean.at<cv::Vec3f>(static_cast<int>(s), c) -
                             usual_.at<cv::Vec3f>(static_cast<int>(s), c));
        return sum * (1.0 / (std::abs(b - a) + 1));
    }

    // How far the item's light goes from the bench's, in that direction of the three colours, where the lamp
    // falls square on it: there it is as light as a loose fibre, which has no round that shades it.
    [[nodiscard]] double lit_side(const std::vector<char>& stirred, const cv::Vec3d& hue) const {
        constexpr double inside = 0.85,
                         lit = 0.8;  // of the width; a fifth of it is lighter, tracer yarns for one
        const cv::Vec3f mix(hue);
        const auto bench = static_cast<float>(hue.dot(bench_));
        std::vector<float> steps;
        for (std::size_t s = 0; s < stirred.size(); ++s) {
            if (!stirred[s]) continue;
            const auto* row = light_.mean.ptr<cv::Vec3f>(static_cast<int>(s));
            const int to = strip_column(inside * sound_.right[s]);
            for (int c = strip_column(inside * sound_.left[s]); c <= to; ++c)
                steps.push_back(row[c].dot(mix) - bench);
        }
        return steps.empty() ? 0.0 : middle_of(steps, lit);
    }

    // How far the light of single pixels beside the item goes from what the bench usually shows there, in
    // that direction of the three colours: all but one in a hundred go less far. Of stations with fibres or
    // without.
    [[nodiscard]] double farthest_beside(const std::vector<char>& stirred, bool with_fibres,
                                         const cv::Vec3d& hue) const {
        constexpr double from_mm = 0.5, to_mm = 2.5, all_but_few = 0.99;
        constexpr std::size_t least_pixels = 200;
        const auto& linear = linear_of_srgb();
        const cv::Vec3f mix(hue);
        std::vector<float> changes;
        for (std::size_t s = 0; s < stirred.size(); ++s) {
            if ((stirred[s] != 0) != with_fibres) continue;
            const auto* usual = usual_.ptr<cv::Vec3f>(static_cast<int>(s));
            const auto row = static_cast<int>(std::lround(light_.row[s]));
            const auto* seen = strip_.seen.ptr<uchar>(row);
            const auto* pixels = strip_.bgr.ptr<cv::Vec3b>(row);
            for (const double side : {-1.0, 1.0}) {
                const double edge = side < 0 ? sound_.left[s] : sound_.right[s];
                const int a = strip_column(edge + side * from_mm), b = strip_column(edge + side * to_mm);
                for (int c = std::min(a, b); c <= std::max(a, b); ++c) {
                    if (!seen[c]) continue;
                    const cv::Vec3f light(linear[pixels[c][0]], linear[pixels[c][1]], linear[pixels[c][2]]);
                    changes.push_back((light - usual[c]).dot(mix));
                }
            }
        }
        return changes.size() < least_pixels ? 0.0 : middle_of(changes, all_but_few);
    }

    [[nodiscard]] int strip_column(double t) const {
        return std::clamp(static_cast<int>(std::lround(strip_.column_at(t))), 0, strip_.bgr.cols - 1);
    }

    // Gives the plainest stretch of them, and how plain it is.
    PlainStretch find_stirred(FibreCover& cover) const {
        const std::size_t stations = sound_.left.size();
        const cv::Vec3d step = cover.fibre - bench_;
        const cv::Matx33d inverse = noise().inv();
        const cv::Vec3d weights = inverse * step * (1 / std::max(1e-9, step.dot(inverse * step)));
        std::vector<double> evidence(stations, 0.0);
        for (const double side : {-1.0, 1.0}) {
            std::vector<cv::Vec3d> changes(stations);
            std::vector<float> beside(stations, 0.0F);
            for (std::size_t s = 0; s < stations; ++s) {
                changes[s] = change_beside(s, side, 0.5, 2.5);
                beside[s] = static_cast<float>(changes[s].dot(weights));
            }
            std::vector<float> sorted = beside;
            const float usual = middle_of(sorted);
            for (float& v : sorted) v = std::abs(v - usual);
            const float scatter = std::max(middle_of(sorted, 0.5) / 0.6745F, middle_of(sorted, 0.6827));
            constexpr float plain = 3.0F, least_share = 0.06F;
            for (std::size_t s = 0; s < stations; ++s) {
                const float share = beside[s] - usual;
                // A change that is more of another kind than towards the fibres' light is none of theirs.
                const cv::Vec3d other = changes[s] - beside[s] * step;
                const bool theirs =
                    other.dot(inverse * other) < beside[s] * beside[s] * step.dot(inverse * step);
                if (theirs && share > std::max(least_share, plain * scatter))
                    evidence[s] = std::max<double>(evidence[s], share / scatter);
            }
        }
        cover.stirred.assign(stations, 0);
        for (std::size_t s = 0; s < stations; ++s) cover.stirred[s] = evidence[s] > 0;
        leave_out_short(cover.stirred);
        PlainStretch plainest, now;
        for (std::size_t s = 0; s < stations; ++s) {
            if (!cover.stirred[s]) continue;
            if (s > now.to + longest_gap) now = {s, s, 0.0};
            now.to = s + 1;
            now.evidence += evidence[s];
            if (now.evidence > plainest.evidence) plainest = now;
        }
        return plainest;
    }

    // A fray is a stretch; what stirs one station or two is a knot in the wood or a crumb.
    static void leave_out_short(std::vector<char>& stirred) {
        constexpr std::size_t least = 4, gap = longest_gap;
        const std::size_t stations = stirred.size();
        for (std::size_t from = 0; from < stations;) {
            if (!stirred[from]) {
                ++from;
                continue;
            }
            std::size_t to = from + 1, count = 1;
            for (std::size_t s = to; s < stations && s - to <= gap; ++s)
                if (stirred[s]) {
                    to = s + 1;
                    ++count;
                }
            if (count < least)
                std::fill(stirred.begin() + static_cast<std::ptrdiff_t>(from),
                          stirred.begin() + static_cast<std::ptrdiff_t>(to), char{0});
            from = to;
        }
    }

    const Strip& strip_;
    const StationLight& light_;
    const SoundEdges& sound_;
    cv::Mat usual_;
    std::vector<cv::Vec3f> bare_;
    cv::Vec3d bench_;
    Scatter scatter_;
};

}  // namespace

std::optional<FibreCover> fibre_cover(const Strip& strip, const StationLight& light,
                                      const SoundEdges& sound) {
    const CoverEstimate estimate(strip, light, sound);
    if (!estimate.enough_bench()) return std::nullopt;
    // Loose fibres are of the sheath or of its tracer yarns, paler than these or, where they shade each
    // other, not: whichever of them makes the most of what lies beside the item.
    const cv::Vec3d usual = usual_inside(light, strip, sound);
    FibreCover cover;
    PlainStretch plainest{0, 0, -1.0};
    for (const cv::Vec3d& fibre : {paled(mean_inside(light, strip, sound, nullptr)), paled(usual), usual}) {
        FibreCover tried;
        const PlainStretch stretch = estimate.estimate(tried, fibre);
        if (stretch.evidence <= plainest.evidence) continue;
        plainest = stretch;
        cover = std::move(tried);
    }
    cover.sheath_fibre = paled(usual);
    // Where fibres were found, the item itself is covered by them: there their colour can be read.
    std::vector<char> stirred(cover.stirred.size(), 0);
    std::copy(cover.stirred.begin() + static_cast<std::ptrdiff_t>(plainest.from),
              cover.stirred.begin() + static_cast<std::ptrdiff_t>(plainest.to),
              stirred.begin() + static_cast<std::ptrdiff_t>(plainest.from));
    std::optional<cv::Vec3d> weights = estimate.weights_for(cover.fibre);
    if (std::count(stirred.begin(), stirred.end(), 1) < 3) {
        stirred = estimate.changed_light();
        weights.reset();
    }
    if (std::count(stirred.begin(), stirred.end(), 1) >= 3) {
        estimate.estimate(cover, estimate.fibre_beside(stirred, weights));
    }
    estimate.fill_share(cover);
    return cover;
}

double dense_edge_mm(const FibreCover& cover, const Strip& strip, std::size_t station, double sound_mm,
                     double side, double share) {
    const auto* row = cover.share.ptr<float>(static_cast<int>(station));
    const int cell = std::max(1, static_cast<int>(std::lround(0.25 / strip.mm_per_px)));
    const auto share_at = [&](double t) {
        const int first = static_cast<int>(std::lround(strip.column_at(t) - 0.5 * (cell - 1)));
        float sum = 0.0F;
        for (int c = first; c < first + cell; ++c) sum += row[std::clamp(c, 0, cover.share.cols - 1)];
        return sum / static_cast<float>(cell);
    };
    double t = sound_mm + side * clear_of_blur_mm;
    if (share_at(t) <= static_cast<float>(share)) t = sound_mm;
    while (std::abs(t - sound_mm) < reach_mm &&
           share_at(t + side * strip.mm_per_px) > static_cast<float>(share))
        t += side * strip.mm_per_px;
    return t;
}

}  // namespace frayhold::gauge
