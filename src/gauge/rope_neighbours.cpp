// SPDX-License-Identifier: Apache-2.0
#include "gauge/rope_neighbours.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <optional>

#include "gauge/card_design.h"
#include "gauge/light.h"
#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

// Of an area: hue as two logarithms of ratios of linear light, lightness as that of linear green, and
// roughness as the standard deviation of what is coded over its mean.
using Looks = cv::Vec4d;
// What areas of one kind differ by at least: hue by lens and white balance, lightness by shadow and shading,
// roughness by how the picture is sharp.
const Looks least_scatter(0.05, 0.05, 0.5, 0.05);
// Sheath and bench must be so many standard deviations apart for anything to be told.
constexpr double least_apart = 2.5;
// Nearer to the sheath than this share of the way from sheath to bench counts as the sheath's look, if it is
// by so many standard deviations nearer than the bench.
constexpr double like_sheath = 0.5, nearer_by = 1.6;

constexpr double dark = 0.01;  // in light fainter than this share of white, hue is noise

cv::Vec2d hue_of(const cv::Vec3f& linear_bgr) {
    const auto log_light = [&](int channel) {
        return std::log(static_cast<double>(linear_bgr[channel]) + dark);
    };
    return {log_light(2) - log_light(1), log_light(0) - log_light(1)};
}

// One station of a strip between two distances across it; empty where that is hardly seen.
std::optional<Looks> looks_of(const Strip& strip, const StationLight& light, std::size_t station,
                              double from_mm, double to_mm) {
    const int from = static_cast<int>(std::lround(strip.column_at(from_mm))),
              to = static_cast<int>(std::lround(strip.column_at(to_mm)));
    if (from < 0 || to <= from || to > strip.bgr.cols) return std::nullopt;
    const int s = static_cast<int>(station);
    const auto* mean = light.mean.ptr<cv::Vec3f>(s);
    const auto* seen = light.seen.ptr<float>(s);
    cv::Vec3f sum;
    float share = 0.0F;
    for (int c = from; c < to; ++c) {
        sum += mean[c] * seen[c];
        share += seen[c];
    }
    constexpr float least_seen = 0.9F;
    if (share < least_seen * static_cast<float>(to - from)) return std::nullopt;
    sum *= 1.0F / share;
    const int rows = strip.bgr.rows / light.mean.rows;
    std::int64_t total = 0, squares = 0, count = 0;
    constexpr int every = 2;
    for (int r = s * rows; r < (s + 1) * rows; r += every) {
        const auto* p = strip.bgr.ptr<cv::Vec3b>(r);
        int row_total = 0, row_squares = 0;
        for (int c = from; c < to; ++c) {
            const int value = p[c][0] + 2 * p[c][1] + p[c][2];
            row_total += value;
            row_squares += value * value;
        }
        total += row_total;
        squares += row_squares;
        count += to - from;
    }
    const double middle = static_cast<double>(total) / static_cast<double>(count),
                 variance = static_cast<double>(squares) / static_cast<double>(count) - middle * middle;
    const cv::Vec2d hue = hue_of(sum);
    return Looks(hue[0], hue[1], std::log(static_cast<double>(sum[1]) + dark),
                 std::sqrt(std::max(0.0, variance)) / (middle + 1));
}

struct Usual {
    Looks middle;   // medians
    Looks scatter;  // from the median deviations
};

// At least one.
Usual usual_of(const std::vector<Looks>& looks) {
    Usual usual;
    for (int i = 0; i < Looks::channels; ++i) {
        std::vector<double> values;
        values.reserve(looks.size());
        for (const Looks& l : looks) values.push_back(l[i]);
        usual.middle[i] = median(values);
        for (double& v : values) v = std::abs(v - usual.middle[i]);
        usual.scatter[i] = 1.4826 * median(std::move(values));
    }
    return usual;
}

// The bench beside the card, at two places along each of its sides. What else lies there lies at one side or
// two.
std::vector<Looks> bench_round_card(const cv::Mat& bgr, const View& view, double mm_per_px,
                                    double breadth_mm) {
    constexpr double clear_mm = 2.0, half_depth_mm = 12.0, length_mm = 5.0;
    const cv::Point2d along_x(length_mm / 2, 0), along_y(0, length_mm / 2);
    struct Place {
        cv::Point2d at_mm, along_mm;
    };
    std::vector<Place> places;
    for (const double side : {-1.0, 1.0})
        for (const double share : {0.25, 0.75}) {
            const double out = clear_mm + half_depth_mm;
            places.push_back(
                {{share * id1_width_mm, id1_middle_mm.y + side * (id1_height_mm / 2 + out)}, along_x});
            places.push_back(
                {{id1_middle_mm.x + side * (id1_width_mm / 2 + out), share * id1_height_mm}, along_y});
        }
    std::vector<Looks> looks;
    for (const Place& place : places) {
        const CentreLine line =
            centre_line({place.at_mm - place.along_mm, place.at_mm + place.along_mm}, 0.0, mm_per_px);
        const Strip strip = unroll(bgr, 1, view, line, half_depth_mm);
        const StationLight light = station_light(strip, StationDetail::mean_only);
        for (std::size_t s = 0; s < light.row.size(); ++s)
            for (double from = -half_depth_mm; from + breadth_mm <= half_depth_mm; from += breadth_mm)
                if (const auto l = looks_of(strip, light, s, from, from + breadth_mm)) looks.push_back(*l);
    }
    return looks;
}

// Fills up the gaps between true entries that are shorter than `gap`.
void join(std::vector<char>& flags, std::size_t gap) {
    std::size_t last = flags.size();
    for (std::size_t s = 0; s < flags.size(); ++s) {
        if (!flags[s]) continue;
        if (last < s && s - last <= gap)
            std::fill(flags.begin() + static_cast<std::ptrdiff_t>(last),
                      flags.begin() + static_cast<std::ptrdiff_t>(s), char{1});
        last = s;
    }
}

// Takes out the runs of true entries that are shorter than `least`.
void leave_out_short(std::vector<char>& flags, std::size_t least) {
    for (auto from = flags.begin(); from != flags.end();) {
        from = std::find(from, flags.end(), char{1});
        const auto to = std::find(from, flags.end(), char{0});
        if (static_cast<std::size_t>(to - from) < least) std::fill(from, to, char{0});
        from = to;
    }
}

// Every run of true entries as much longer at either end.
void widen(std::vector<char>& flags, std::size_t by) {
    const std::vector<char> before = flags;
    for (std::size_t s = 0; s < flags.size(); ++s)
        flags[s] =
            std::any_of(before.begin() + static_cast<std::ptrdiff_t>(s - std::min(s, by)),
                        before.begin() + static_cast<std::ptrdiff_t>(std::min(s + by + 1, before.size())),
                        [](char f) { return f != 0; });
}

class NeighbourSearch {
  public:
    NeighbourSearch(const RopeLimbs& limbs, const cv::Mat& bgr, const View& view) : limbs_(limbs) {
        std::vector<double> widths;
        for (std::size_t s = 0; s < stations(); ++s)
            widths.push_back(limbs.sound.right[s] - limbs.sound.left[s]);
        breadth_mm_ = median(std::move(widths)) / 2;
        const auto bench = bench_round_card(bgr, view, limbs.strip.mm_per_px, breadth_mm_);
        std::vector<Looks> inside;
        for (std::size_t s = 0; s < stations(); ++s) {
            const double from = (limbs.sound.left[s] + limbs.sound.right[s] - breadth_mm_) / 2;
            if (const auto l = looks_of(limbs.strip, limbs.light, s, from, from + breadth_mm_))
                inside.push_back(*l);
        }
        constexpr std::size_t enough = 20;
        if (bench.size() < enough || inside.size() < enough) return;
        const Usual of_bench = usual_of(bench), of_sheath = usual_of(inside);
        sheath_ = of_sheath.middle;
        for (int i = 0; i < Looks::channels; ++i)
            weight_[i] =
                1 / (of_bench.scatter[i] * of_bench.scatter[i] / 2 +
                     of_sheath.scatter[i] * of_sheath.scatter[i] / 2 + least_scatter[i] * least_scatter[i]);
        apart_ = from_sheath(of_bench.middle);
        const cv::Vec2d way = cv::Vec2d(of_bench.middle[0], of_bench.middle[1]) - sheath_hue();
        constexpr double plain = 0.4;
        if (cv::norm(way) > plain) towards_bench_ = way / way.dot(way);
    }

    [[nodiscard]] std::vector<char> found() const {
        // The width that was followed is that of both, and misleads where one goes on alone.
        if (grooved()) return std::vector<char>(stations(), 1);
        std::vector<char> flags(stations(), 0);
        if (apart_ >= least_apart)
            for (const double side : {-1.0, 1.0}) {
                const std::vector<char> beside = sheath_beside(side);
                for (std::size_t s = 0; s < stations(); ++s) flags[s] |= beside[s];
            }
        if (std::find(flags.begin(), flags.end(), char{1}) == flags.end()) return flags;
        // Limbs are placed by their neighbours' too; and what lies by itself for less than this tells no
        // width.
        constexpr std::size_t shared = 8, least_alone = 40;
        widen(flags, shared);
        for (char& f : flags) f = f ? 0 : 1;
        leave_out_short(flags, least_alone);
        for (char& f : flags) f = f ? 0 : 1;
        // Beside others for most of the way, the line that was followed may have gone from one to the next.
        if (2 * std::count(flags.begin(), flags.end(), char{1}) > static_cast<std::ptrdiff_t>(stations()))
            std::fill(flags.begin(), flags.end(), char{1});
        return flags;
    }

  private:
    [[nodiscard]] std::size_t stations() const { return limbs_.sound.left.size(); }

    // In standard deviations.
    [[nodiscard]] double from_sheath(const Looks& looks) const {
        double sum = 0.0;
        for (int i = 0; i < Looks::channels; ++i)
            sum += weight_[i] * (looks[i] - sheath_[i]) * (looks[i] - sheath_[i]);
        return std::sqrt(sum);
    }

    // Where most of the stations round about show the sheath's look beyond that limb, for longer than a rope
    // that crosses does.
    [[nodiscard]] std::vector<char> sheath_beside(double side) const {
        constexpr double clear_mm = 2.0;  // of the gap and the shade in it
        const double most = std::min(like_sheath * apart_, apart_ - nearer_by);
        std::vector<char> like(stations(), 0);
        for (std::size_t s = 0; s < stations(); ++s) {
            const double from =
                side < 0 ? limbs_.sound.left[s] - clear_mm - breadth_mm_ : limbs_.sound.right[s] + clear_mm;
            const auto is_like = [&](double begin, double end) {
                const auto looks = looks_of(limbs_.strip, limbs_.light, s, begin, end);
                return looks && from_sheath(*looks) < most;
            };
            // A heavy fray may make the whole of it look like sheath, but not its outer half by itself.
            const double outer = from + (side < 0 ? 0.0 : breadth_mm_ / 2);
            like[s] = is_like(from, from + breadth_mm_) && is_like(outer, outer + breadth_mm_ / 2);
        }
        constexpr std::size_t reach = 6, gap = 12;
        std::vector<char> beside(stations(), 0);
        for (std::size_t s = 0; s < stations(); ++s) {
            const std::size_t from = s - std::min(s, reach), to = std::min(s + reach + 1, stations());
            const auto count = std::count(like.begin() + static_cast<std::ptrdiff_t>(from),
                                          like.begin() + static_cast<std::ptrdiff_t>(to), char{1});
            beside[s] = 2 * static_cast<std::size_t>(count) > to - from;
        }
        join(beside, gap);
        leave_out_short(beside, static_cast<std::size_t>(4 * breadth_mm_ / limbs_.light.station_mm()));
        return beside;
    }

    // From limb to limb at so many places, each as broad as the next.
    static constexpr std::size_t places = 20;
    static constexpr std::size_t limb = 1, first = 7, last = 12;  // the limbs left out; about the middle
    using Across = std::array<float, places>;
    struct Section {
        Across light{};
        Across bench{};  // how much of the way from the sheath's hue (0) to the bench's (1); 0 where they are
                         // alike
    };

    [[nodiscard]] Section section(std::size_t station) const {
        const double left = limbs_.sound.left[station], width = limbs_.sound.right[station] - left;
        const auto* row = limbs_.light.mean.ptr<cv::Vec3f>(static_cast<int>(station));
        const auto column = [&](std::size_t place) {
            const double at = limbs_.strip.column_at(left + width * static_cast<double>(place) / places);
            return std::clamp(static_cast<int>(std::lround(at)), 0, limbs_.strip.bgr.cols - 1);
        };
        Section section;
        for (std::size_t k = 0; k < places; ++k) {
            const int from = column(k), to = std::max(from + 1, column(k + 1));
            cv::Vec3f sum;
            for (int c = from; c < to; ++c) sum += row[c];
            sum *= 1.0F / static_cast<float>(to - from);
            section.light.at(k) = static_cast<float>(cv::Vec3d(sum).dot(luminance_mix));
            if (towards_bench_)
                section.bench.at(k) = static_cast<float>((hue_of(sum) - sheath_hue()).dot(*towards_bench_));
        }
        return section;
    }

    // Whether light dips about the middle to much less than on both sides, and narrowly: what was taken for
    // one rope may as well be a rope and its own shadow, which is broad.
    static bool dips(const Across& light) {
        constexpr float deep = 0.65F, edge = 0.8F;
        constexpr std::ptrdiff_t broadest = 7;
        for (std::size_t k = first; k <= last; ++k) {
            const auto at = light.begin() + k, begin = light.begin() + limb, end = light.end() - limb;
            const float beside = std::min(*std::max_element(begin, at), *std::max_element(at + 1, end));
            if (*at > deep * beside) continue;
            const auto bright = [&](float value) { return value > edge * beside; };
            const auto right = std::find_if(at, end, bright);
            const auto left =
                std::find_if(std::make_reverse_iterator(at), std::make_reverse_iterator(begin), bright);
            if (right - left.base() <= broadest) return true;
        }
        return false;
    }

    // Whether the bench shows about the middle, and the sheath on both sides.
    static bool parts(const Across& bench) {
        constexpr float shows = 0.5F, hardly = 0.25F;
        for (std::size_t k = first; k <= last; ++k) {
            const auto at = bench.begin() + k;
            if (*at > shows && *std::min_element(bench.begin() + limb, at) < hardly &&
                *std::min_element(at + 1, bench.end() - limb) < hardly)
                return true;
        }
        return false;
    }

    // Whether the median over some stations shows a groove, for long enough. Yarns of another colour wind
    // round and lie nowhere at half the stations; a hole is shorter.
    [[nodiscard]] bool grooved() const {
        constexpr std::size_t reach = 20, step = 5, every = 2, least = 55;
        std::vector<Section> sections;
        for (std::size_t s = 0; s < stations(); s += every) sections.push_back(section(s));
        std::vector<float> values;
        const auto usual = [&](std::size_t s, Across Section::*what) {
            Across middle{};
            for (std::size_t k = limb; k < places - limb; ++k) {
                values.clear();
                for (std::size_t i = (s - reach) / every; i <= (s + reach) / every; ++i)
                    values.push_back((sections[i].*what).at(k));
                middle.at(k) = quantile(values, 0.5);
            }
            return middle;
        };
        std::size_t dipping = 0, parted = 0, looked_at = 0;
        for (std::size_t s = reach; s + reach < stations(); s += step, ++looked_at) {
            dipping = dips(usual(s, &Section::light)) ? dipping + step : 0;
            if (dipping >= least) return true;
            if (towards_bench_ && parts(usual(s, &Section::bench))) ++parted;
        }
        // A sheen along the rope may have the bench's hue, over a glazed length, not over most of the rope.
        return looked_at * step >= least && 2 * parted > looked_at;
    }

    [[nodiscard]] cv::Vec2d sheath_hue() const { return {sheath_[0], sheath_[1]}; }

    const RopeLimbs& limbs_;
    double breadth_mm_ = 0.0;                 // half the rope's
    Looks sheath_, weight_;                   // the weights are inverse variances
    double apart_ = 0.0;                      // sheath and bench; 0 where no bench is known
    std::optional<cv::Vec2d> towards_bench_;  // of hue; empty where sheath and bench are alike in it
};

}  // namespace

std::vector<char> beside_others(const RopeLimbs& limbs, const cv::Mat& bgr, const View& view) {
    return NeighbourSearch(limbs, bgr, view).found();
}

}  // namespace frayhold::gauge
