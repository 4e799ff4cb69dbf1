// SPDX-License-Identifier: Apache-2.0
#include "pack/profile_plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "language/tr.h"
#include "pack/lettering.h"

namespace frayhold::pack {
namespace {

constexpr Ink halo_tint{0.93, 0.80, 0.74};

// One, two or five times a power of ten, giving about so many steps over the range.
double step_for(double range, int steps) {
    const double raw = range / steps;
    const double unit = std::pow(10.0, std::floor(std::log10(raw)));
    for (const double factor : {1.0, 2.0, 5.0})
        if (raw <= factor * unit) return factor * unit;
    return 10.0 * unit;
}

// From values in mm to points on the page, one axis.
struct Axis {
    double from = 0;
    double to = 1;
    double step = 1;
    double at_from = 0;
    double at_to = 1;

    [[nodiscard]] double at(double value) const {
        return at_from + (value - from) / (to - from) * (at_to - at_from);
    }
};

Axis axis_over(double least, double most, int steps, double at_from, double at_to, bool round_out) {
    const double range = std::max(most - least, 1e-6);
    const double step = step_for(range, steps);
    if (!round_out) return {least, least + range, step, at_from, at_to};
    const double from = std::floor(least / step) * step;
    return {from, std::max(std::ceil(most / step), std::floor(least / step) + 1) * step, step, at_from,
            at_to};
}

void trace(cairo_t* context, const Axis& across, const Axis& up, const std::vector<double>& x,
           const std::vector<double>& y) {
    for (std::size_t i = 0; i < x.size(); ++i) cairo_line_to(context, across.at(x[i]), up.at(y[i]));
}

void draw_axes(cairo_t* context, const Axis& across, const Axis& up) {
    const Style small{.family = Family::sans, .size_pt = 6.6, .ink = inks::quiet};
    cairo_set_line_width(context, 0.4);
    for (double value = up.from; value <= up.to + 0.01 * up.step; value += up.step) {
        draw_rule(context, across.at_from, up.at(value) - 0.2, across.at_to - across.at_from, 0.4,
                  inks::line);
        const TextBlock label(context, fmt::format("{:g}", value), small);
        label.draw(context, across.at_from - label.width_pt() - 4, up.at(value) - label.height_pt() / 2);
    }
    for (double value = std::ceil(across.from / across.step) * across.step;
         value <= across.to + 0.01 * across.step; value += across.step) {
        draw_rule(context, across.at(value) - 0.2, up.at_from, 0.4, 3, inks::quiet);
        const TextBlock label(context, fmt::format("{:g}", value), small);
        label.draw(context, across.at(value) - label.width_pt() / 2, up.at_from + 4);
    }
    draw_rule(context, across.at_from, up.at_from, across.at_to - across.at_from, 0.6, inks::text);
}

// What a line or tint of the plot means.
struct Key {
    std::string name;
    bool tint = false;
    bool broken = false;
};

// A sample of the line or tint and its name; gives the place behind it.
double draw_key(cairo_t* context, double x, double y, const Key& key, const Style& style) {
    constexpr double sample = 16;
    const auto& [name, tint, broken] = key;
    if (tint) {
        draw_rule(context, x, y + 2, sample, 6, halo_tint);
    } else {
        set_ink(context, broken ? inks::quiet : inks::text);
        const std::array<double, 2> dashes{3.0, 2.0};
        cairo_set_dash(context, dashes.data(), broken ? 2 : 0, 0);
        cairo_set_line_width(context, broken ? 0.7 : 1.0);
        cairo_move_to(context, x, y + 5);
        cairo_line_to(context, x + sample, y + 5);
        cairo_stroke(context);
        cairo_set_dash(context, nullptr, 0, 0);
    }
    const TextBlock label(context, name, style);
    label.draw(context, x + sample + 4, y + 5 - label.height_pt() / 2);
    return x + sample + 4 + label.width_pt() + 14;
}

// The keys in one line, in smaller letters where their names are long.
void draw_keys(cairo_t* context, double x, double y, double width, const std::vector<Key>& keys) {
    Style style{.family = Family::sans, .size_pt = 7, .ink = inks::quiet};
    constexpr double least_pt = 5;
    constexpr double around_name = 34;
    const auto whole_width = [&] {
        double sum = 0;
        for (const Key& key : keys) sum += TextBlock(context, key.name, style).width_pt() + around_name;
        return sum;
    };
    while (style.size_pt > least_pt && whole_width() > width) style.size_pt -= 0.25;
    for (const Key& key : keys) x = draw_key(context, x, y, key, style);
}

}  // namespace

bool has_profile(const PhotoReport& report) {
    constexpr std::size_t fewest = 5;
    const auto finite = [](const std::vector<double>& values) {
        return std::all_of(values.begin(), values.end(), [](double v) { return std::isfinite(v); });
    };
    return report.station_mm.size() >= fewest && finite(report.station_mm) && finite(report.width_mm) &&
           finite(report.fray_mm) && std::is_sorted(report.station_mm.begin(), report.station_mm.end()) &&
           report.station_mm.back() > report.station_mm.front();
}

void draw_profile(cairo_t* context, const PhotoReport& report, const std::string& sound_words, double x,
                  double y, double width) {
    const bool has_baseline = std::isfinite(report.baseline_mm) && report.baseline_mm > 0;
    double least = *std::min_element(report.width_mm.begin(), report.width_mm.end());
    double most = std::max(*std::max_element(report.width_mm.begin(), report.width_mm.end()),
                           *std::max_element(report.fray_mm.begin(), report.fray_mm.end()));
    if (has_baseline) {
        least = std::min(least, report.baseline_mm);
        most = std::max(most, report.baseline_mm);
    }
    constexpr double left_margin = 22;
    constexpr double key_height = 16;
    constexpr double foot_height = 24;
    const Axis across =
        axis_over(report.station_mm.front(), report.station_mm.back(), 10, x + left_margin, x + width, false);
    const Axis up = axis_over(least, most, 5, y + profile_plot_height_pt - foot_height, y + key_height, true);
    draw_axes(context, across, up);

    trace(context, across, up, report.station_mm, report.fray_mm);
    for (std::size_t i = report.station_mm.size(); i-- > 0;)
        cairo_line_to(context, across.at(report.station_mm[i]), up.at(report.width_mm[i]));
    cairo_close_path(context);
    set_ink(context, halo_tint);
    cairo_fill(context);

    if (has_baseline) {
        const std::array<double, 2> dashes{3.0, 2.0};
        cairo_set_dash(context, dashes.data(), 2, 0);
        cairo_set_line_width(context, 0.7);
        set_ink(context, inks::quiet);
        cairo_move_to(context, across.at_from, up.at(report.baseline_mm));
        cairo_line_to(context, across.at_to, up.at(report.baseline_mm));
        cairo_stroke(context);
        cairo_set_dash(context, nullptr, 0, 0);
    }
    cairo_set_line_width(context, 1.0);
    cairo_set_line_join(context, CAIRO_LINE_JOIN_ROUND);
    set_ink(context, inks::text);
    cairo_new_path(context);
    trace(context, across, up, report.station_mm, report.width_mm);
    cairo_stroke(context);

    std::vector<Key> keys{{tr("width at each station"), false, false},
                          {tr("broken fibres beyond it"), true, false}};
    if (has_baseline)
        keys.push_back({sound_words.empty() ? tr("undamaged width") : sound_words, false, true});
    draw_keys(context, x + left_margin, y, width - left_margin, keys);
    const Style axis_name{.family = Family::sans, .size_pt = 7, .ink = inks::quiet};
    TextBlock(context, "mm", axis_name).draw(context, x, y + 1);
    const TextBlock stations(context, tr("station along the item, mm"), axis_name);
    stations.draw(context, across.at_to - stations.width_pt(), y + profile_plot_height_pt - 11);
}

}  // namespace frayhold::pack
