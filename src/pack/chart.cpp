// SPDX-License-Identifier: Apache-2.0
#include "pack/chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "language/tr.h"

namespace frayhold::pack {
namespace {

// The inks of the case's pages (pack/lettering.h), and tones for parts that a printer without colour keeps
// apart.
constexpr const char* text_ink = "#1c1c1a";
constexpr const char* quiet_ink = "#6b6961";
constexpr const char* line_ink = "#c7c2b5";
constexpr std::array tones{"#99331a", "#c98a5b", "#3f5a52", "#8fa79b",
                           "#4a4640", "#a39d8f", "#6b2f57", "#c2a3b8"};

constexpr double chart_width = 720;
constexpr double margin = 16;

std::string escaped(const std::string& text) {
    std::string out;
    for (const char c : text) {
        switch (c) {
            case '&':
                out += "&amp;";
                break;
            case '<':
                out += "&lt;";
                break;
            case '>':
                out += "&gt;";
                break;
            case '"':
                out += "&quot;";
                break;
            default:
                // Control characters have no place in XML 1.0.
                out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
        }
    }
    return out;
}

// Whether a character of UTF-8 begins here.
bool begins_character(char c) {
    constexpr unsigned continuation_mask = 0xC0U;
    constexpr unsigned continuation = 0x80U;
    return (static_cast<unsigned char>(c) & continuation_mask) != continuation;
}

// So many characters of UTF-8 text at most; "…" in place of the rest.
std::string shortened(const std::string& text, std::size_t most) {
    std::size_t characters = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (!begins_character(text[i])) continue;
        if (characters++ == most) return text.substr(0, i) + "…";
    }
    return text;
}

// About the room the text takes at 11 or 12 px.
double room_for(const std::string& text) {
    constexpr double letter = 6.6;
    return letter * static_cast<double>(std::count_if(text.begin(), text.end(), begins_character));
}

std::string words_at(double x, double y, const std::string& words, const std::string& anchor, const char* ink,
                     int size, const std::string& more = "") {
    return fmt::format(
        "<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\" fill=\"{}\" font-size=\"{}\"{}>{}</text>\n", x, y,
        anchor, ink, size, more, escaped(words));
}

std::string box(double x, double y, double wide, double high, const char* ink) {
    return fmt::format("<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"{}\"/>\n",
                       x, y, wide, high, ink);
}

std::string page(double height, const std::string& title, const std::string& summary,
                 const std::string& content) {
    return fmt::format(
               "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" "
               "height=\"{1:.0f}\" role=\"img\" font-family=\"Noto Sans, DejaVu Sans, sans-serif\">\n"
               "<title>{2}</title>\n<desc>{3}</desc>\n",
               chart_width, height, escaped(title), escaped(summary)) +
           box(0, 0, chart_width, height, "#fbfaf6") +
           words_at(margin, 34, title, "start", text_ink, 19,
                    " font-family=\"Noto Serif, DejaVu Serif, serif\"") +
           content + "</svg>\n";
}

std::string value_words(double value) {
    return fmt::format("{:.6g}", value);
}

}  // namespace

std::string bar_chart_svg(const BarChart& chart) {
    constexpr double row = 24;
    constexpr double bar_left = 270;
    constexpr std::size_t most_letters = 36;
    double most = 0.0;
    for (const Bar& bar : chart.bars) most = std::max(most, bar.value);
    const double room_for_value = std::max(96.0, 6 + room_for(value_words(most) + " " + chart.unit));
    const double bar_right = chart_width - margin - room_for_value;
    std::string content;
    std::string summary;
    double y = 56;
    for (const Bar& bar : chart.bars) {
        const double length = most > 0.0 ? bar.value / most * (bar_right - bar_left) : 0.0;
        const bool first = &bar == &chart.bars.front();
        content += words_at(bar_left - 8, y + 14, shortened(bar.label, most_letters), "end", text_ink, 12);
        content += box(bar_left, y + 4, std::max(length, 1.0), row - 10, tones[0]);
        content += words_at(bar_left + length + 6, y + 14,
                            value_words(bar.value) + (first ? " " + chart.unit : ""), "start", quiet_ink, 12);
        summary += (summary.empty() ? "" : "; ") + bar.label + ": " + value_words(bar.value);
        y += row;
    }
    content += box(bar_left - 1, 54, 1, y - 54, line_ink);
    if (chart.bars.empty()) {
        content += words_at(margin, y + 14, tr("Nothing is recorded yet."), "start", quiet_ink, 12);
        y += row;
    }
    if (!chart.note.empty()) {
        content += words_at(margin, y + 22, chart.note, "start", quiet_ink, 11);
        y += row;
    }
    return page(y + margin, chart.title, summary, content);
}

std::string column_chart_svg(const ColumnChart& chart) {
    constexpr double top = 70;
    constexpr double base = 250;
    constexpr double left = margin + 8;
    constexpr double right = chart_width - margin;
    double most = 0.0;
    for (const StackedColumn& column : chart.columns)
        most = std::max(most, std::accumulate(column.values.begin(), column.values.end(), 0.0));
    std::string content;
    std::string summary;
    const double step =
        chart.columns.empty() ? 0.0 : (right - left) / static_cast<double>(chart.columns.size());
    // Names of columns stand aslant and are left out where they would touch.
    constexpr double room_for_name = 15;
    const std::size_t every =
        step > 0.0 ? static_cast<std::size_t>(std::max(1.0, std::ceil(room_for_name / step))) : 1;
    for (std::size_t i = 0; i < chart.columns.size(); ++i) {
        const StackedColumn& column = chart.columns[i];
        const double x = left + step * static_cast<double>(i);
        double y = base;
        for (std::size_t part = 0; part < column.values.size(); ++part) {
            const double high = most > 0.0 ? column.values[part] / most * (base - top) : 0.0;
            if (high <= 0.0) continue;
            y -= high;
            content += box(x + 0.14 * step, y, 0.72 * step, high, tones[part % tones.size()]);
        }
        const double whole = std::accumulate(column.values.begin(), column.values.end(), 0.0);
        if (whole > 0.0)
            content +=
                words_at(x + step / 2, y - 4, value_words(whole), "middle", quiet_ink, step < 18 ? 8 : 11);
        if (i % every == 0)
            content += words_at(0, 0, column.label, "end", quiet_ink, 10,
                                fmt::format(" transform=\"translate({:.1f} {:.1f}) rotate(-50)\"",
                                            x + step / 2 + 3, base + 12));
        if (whole > 0.0) summary += (summary.empty() ? "" : "; ") + column.label + ": " + value_words(whole);
    }
    content += box(left, base, right - left, 1, text_ink);
    content += words_at(margin, 56, chart.unit, "start", quiet_ink, 11);
    double y = base + 72;
    double x = margin;
    for (std::size_t part = 0; part < chart.series.size(); ++part) {
        const double room = 30 + room_for(chart.series[part]);
        if (x + room > right) {
            x = margin;
            y += 18;
        }
        content += box(x, y - 9, 10, 10, tones[part % tones.size()]);
        content += words_at(x + 15, y, chart.series[part], "start", text_ink, 11);
        x += room;
    }
    if (chart.columns.empty())
        content += words_at(margin, (top + base) / 2, tr("Nothing is recorded yet."), "start", quiet_ink, 12);
    if (!chart.note.empty()) {
        y += 22;
        content += words_at(margin, y, chart.note, "start", quiet_ink, 11);
    }
    return page(y + margin, chart.title, summary, content);
}

}  // namespace frayhold::pack
