// SPDX-License-Identifier: Apache-2.0
#include "gauge/bench_within.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <opencv2/core.hpp>
#include <optional>

#include "gauge/quantile.h"
#include "gauge/strip_edges.h"

namespace frayhold::gauge {
namespace {

// Hue as two logarithms of ratios of linear light, and the logarithm of roughness.
using Look = cv::Vec3d;

// By how much areas of one kind may differ: in hue by lens, white balance and light from all round, in
// roughness by how sharp the picture is and by the light's slant.
const Look usual_scatter(0.06, 0.06, 0.2);

// Of one station between two distances across; empty beyond the strip or where that is hardly seen.
std::optional<Look> look_between(const Strip& strip, const StationLight& light, std::size_t station,
                                 double from_mm, double to_mm) {
    const int from = static_cast<int>(std::lround(strip.column_at(from_mm))),
              to = static_cast<int>(std::lround(strip.column_at(to_mm)));
    if (from < 0 || to <= from || to > strip.bgr.cols) return std::nullopt;
    const int s = static_cast<int>(station);
    cv::Vec3d mean;
    double rough = 0.0;
    for (int c = from; c < to; ++c) {
        if (light.seen.at<float>(s, c) <= 0) return std::nullopt;
        mean += cv::Vec3d(light.mean.at<cv::Vec3f>(s, c));
        rough += static_cast<double>(light.roughness.at<float>(s, c));
    }
    mean *= 1.0 / (to - from);
    // Darker and smoother than this, hue and roughness are noise.
    constexpr double dark = 0.01, smooth = 0.02;
    return Look(std::log((mean[2] + dark) / (mean[1] + dark)), std::log((mean[0] + dark) / (mean[1] + dark)),
                std::log(rough / (to - from) + smooth));
}

// One look a pair, each the median over its neighbours; not numbers where there is none.
std::vector<Look> usual_looks(const std::vector<std::optional<Look>>& looks) {
    constexpr int reach = 6;  // pairs, three stations apart
    std::vector<Look> usual(looks.size());
    for (int i = 0; i < Look::channels; ++i) {
        std::vector<double> values;
        values.reserve(looks.size());
        for (const auto& look : looks) values.push_back(look ? (*look)[i] : std::nan(""));
        const auto smooth = running_median(values, reach);
        for (std::size_t k = 0; k < usual.size(); ++k) usual[k][i] = smooth[k];
    }
    return usual;
}

// The median over all that are known.
std::optional<Look> median_look(const std::vector<std::optional<Look>>& looks) {
    Look middle;
    std::vector<double> values;
    for (int i = 0; i < Look::channels; ++i) {
        values.clear();
        for (const auto& look : looks)
            if (look) values.push_back((*look)[i]);
        if (values.empty()) return std::nullopt;
        middle[i] = median(values);
    }
    return middle;
}

double apart(const Look& a, const Look& b) {
    double sum = 0.0;
    for (int i = 0; i < Look::channels; ++i) sum += std::pow((a[i] - b[i]) / usual_scatter[i], 2);
    return std::sqrt(sum);
}

// How far a look lies on the way from one to another.
double share_between(const Look& look, const Look& from, const Look& to) {
    double along = 0.0;
    for (int i = 0; i < Look::channels; ++i)
        along += (look[i] - from[i]) * (to[i] - from[i]) / usual_scatter[i] / usual_scatter[i];
    return along / std::pow(apart(from, to), 2);
}

}  // namespace

std::vector<char> bench_within(const Strip& strip, const StationLight& light,
                               const std::vector<LimbPair>& pairs) {
    // Shares of the width from the limb, clear of its blur; millimetres beyond it.
    constexpr double within_from = 0.07, within_to = 0.21, middle_from = 0.4, middle_to = 0.6;
    constexpr double beyond_from_mm = 0.5, beyond_to_mm = 3.0;
    constexpr double plain = 2.5;  // standard deviations by which it is nearer to the bench
    const auto looks = [&](const auto& from_mm, const auto& to_mm) {
        std::vector<std::optional<Look>> found;
        found.reserve(pairs.size());
        for (const LimbPair& p : pairs) {
            const double a = from_mm(p), b = to_mm(p);
            found.push_back(look_between(strip, light, p.station, std::min(a, b), std::max(a, b)));
        }
        return usual_looks(found);
    };
    const auto at = [](double share) {
        return [share](const LimbPair& p) { return p.left_mm + share * (p.right_mm - p.left_mm); };
    };
    const auto middle = looks(at(middle_from), at(middle_to));
    std::vector<char> found(pairs.size(), 0);
    for (const bool left : {true, false}) {
        const auto within =
            left ? looks(at(within_from), at(within_to)) : looks(at(1 - within_to), at(1 - within_from));
        const auto beyond = looks(
            [&](const LimbPair& p) {
                return left ? p.left_mm - beyond_from_mm : p.right_mm + beyond_from_mm;
            },
            [&](const LimbPair& p) { return left ? p.left_mm - beyond_to_mm : p.right_mm + beyond_to_mm; });
        for (std::size_t i = 0; i < pairs.size(); ++i)
            if (apart(within[i], middle[i]) - apart(within[i], beyond[i]) > plain) found[i] = 1;
    }
    return found;
}

std::optional<double> bench_ends_within_mm(const Strip& strip, const StationLight& light,
                                           const std::vector<LimbPair>& pairs, bool left) {
    const auto usual_at = [&](bool of_left, const auto& from_mm, const auto& to_mm) {
        std::vector<std::optional<Look>> looks;
        looks.reserve(pairs.size());
        for (const LimbPair& p : pairs) {
            const double limb = of_left ? p.left_mm : p.right_mm, way = of_left ? 1.0 : -1.0,
                         width = p.right_mm - p.left_mm;
            const double a = limb + way * from_mm(width), b = limb + way * to_mm(width);
            looks.push_back(look_between(strip, light, p.station, std::min(a, b), std::max(a, b)));
        }
        return median_look(looks);
    };
    const auto usual = [&](const auto& from_mm, const auto& to_mm) { return usual_at(left, from_mm, to_mm); };
    const auto depth = [](double mm) { return [mm](double) { return mm; }; };
    const auto share = [](double of) { return [of](double width) { return of * width; }; };
    // Well clear of the limb's blur, yet of the same side, in the same light.
    const auto sheath = usual(share(0.22), share(0.38)), bench = usual(depth(-3.0), depth(-0.6));
    if (!sheath || !bench) return std::nullopt;
    constexpr double plain = 2.5;  // standard deviations
    constexpr double step_mm = 0.1, most_mm = 2.0, half = 0.5;
    // Where the rope's own shaded side was taken for bench, sheath goes on: held against the bench farther
    // out on either side, for in the rope's deep shadow noise makes it rough.
    for (const bool of_left : {true, false}) {
        const auto farther = usual_at(of_left, depth(-5.5), depth(-4.0));
        if (farther && apart(*sheath, *farther) >= plain && share_between(*bench, *sheath, *farther) < half)
            return -most_mm;
    }
    if (apart(*sheath, *bench) < plain) return std::nullopt;
    const auto bench_share = [&](double at_mm) -> std::optional<double> {
        constexpr double half_mm = 0.1;
        const auto look = usual(depth(at_mm - half_mm), depth(at_mm + half_mm));
        return look ? std::optional(share_between(*look, *sheath, *bench)) : std::nullopt;
    };
    // From the limb on towards where both are equal.
    auto before = bench_share(0.0);
    if (!before) return std::nullopt;
    const double way = *before > half ? step_mm : -step_mm;
    for (double at = way; std::abs(at) <= most_mm; at += way) {
        const auto here = bench_share(at);
        if (!here) return std::nullopt;
        if ((*here > half) != (*before > half)) return at - way * (half - *here) / (*before - *here);
        before = here;
    }
    return way > 0 ? most_mm : -most_mm;
}

}  // namespace frayhold::gauge
