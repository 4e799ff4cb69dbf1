// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_placing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

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

}  // namespace

cv::Vec3d plain_hue(const WebEdges& web, const WebBorders& borders) {
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

PlacedEdge place_web_edge(const WebEdges& web, const LimbFit& fit, const std::vector<double>& expected_mm,
                          double side, double reach_mm, const KnownHues& known) {
    return EdgePlacing(web, fit, expected_mm, side, reach_mm, known).placed();
}

}  // namespace frayhold::gauge
