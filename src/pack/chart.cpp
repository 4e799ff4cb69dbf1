// SPDX-License-Identifier: Apache-2.0
#include "pack/chart.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <sstream>
#include <utility>

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

// Narrow enough to be read on a phone, where the page shows it smaller.
constexpr double chart_width = 480;
constexpr double margin = 16;
constexpr double content_width = chart_width - 2 * margin;

constexpr int title_size = 17;
constexpr int label_size = 12;
constexpr int note_size = 11;

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

// About the room the text takes; no font is at hand here.
double room_for(const std::string& text, int size) {
    constexpr double of_its_size = 0.56;
    return of_its_size * size *
           static_cast<double>(std::count_if(text.begin(), text.end(), begins_character));
}

// The text in lines of the content's width, broken at blanks.
std::vector<std::string> lines_of(const std::string& text, int size) {
    std::vector<std::string> lines{""};
    std::istringstream words(text);
    for (std::string word; words >> word;) {
        const std::string longer = lines.back().empty() ? word : lines.back() + " " + word;
        if (lines.back().empty() || room_for(longer, size) <= content_width)
            lines.back() = longer;
        else
            lines.push_back(word);
    }
    return lines;
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

// What is drawn so far, from the top down, and its words for a screen reader.
struct Drawing {
    double y = 0.0;  // where the next part begins
    std::string content;
    std::string summary;

    void lines(const std::string& text, int size, const char* ink, const std::string& more = "") {
        for (const std::string& line : lines_of(text, size)) {
            y += 1.4 * size;
            content += words_at(margin, y, line, "start", ink, size, more);
        }
    }
    void say(const std::string& what, const std::string& words) {
        summary += (summary.empty() ? "" : "; ") + what + ": " + words;
    }
};

Drawing with_title(const std::string& title) {
    Drawing drawing{10.0, "", ""};
    drawing.lines(title, title_size, text_ink, " font-family=\"Noto Serif, DejaVu Serif, serif\"");
    drawing.y += 14;
    return drawing;
}

std::string page(Drawing drawing, const std::string& title, bool empty, const std::string& note) {
    if (empty) drawing.lines(tr("Nothing is recorded yet."), label_size, quiet_ink);
    if (!note.empty()) {
        drawing.y += 6;
        drawing.lines(note, note_size, quiet_ink);
    }
    const double height = drawing.y + margin;
    return fmt::format(
               "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" "
               "height=\"{1:.0f}\" role=\"img\" font-family=\"Noto Sans, DejaVu Sans, sans-serif\">\n"
               "<title>{2}</title>\n<desc>{3}</desc>\n",
               chart_width, height, escaped(title), escaped(drawing.summary)) +
           box(0, 0, chart_width, height, "#fbfaf6") + drawing.content + "</svg>\n";
}

}  // namespace

std::string bar_chart_svg(const BarChart& chart) {
    constexpr double row = 40;
    constexpr double bar_top = 18;
    constexpr double bar_height = 12;
    constexpr double gap = 6;
    constexpr std::size_t most_letters = 60;
    double most = 0.0;
    double room_for_words = 0.0;
    for (const Bar& bar : chart.bars) {
        most = std::max(most, bar.value);
        room_for_words = std::max(room_for_words, gap + room_for(bar.words, label_size));
    }
    Drawing drawing = with_title(chart.title);
    for (const Bar& bar : chart.bars) {
        const double length = most > 0.0 ? bar.value / most * (content_width - room_for_words) : 0.0;
        const double y = drawing.y;
        drawing.content += words_at(margin, y + label_size, shortened(bar.label, most_letters), "start",
                                    text_ink, label_size);
        drawing.content += box(margin, y + bar_top, std::max(length, 1.0), bar_height, tones[0]);
        drawing.content += words_at(margin + length + gap, y + bar_top + bar_height - 2, bar.words, "start",
                                    quiet_ink, label_size);
        drawing.say(bar.label, bar.words);
        drawing.y += row;
    }
    return page(std::move(drawing), chart.title, chart.bars.empty(), chart.note);
}

std::string column_chart_svg(const ColumnChart& chart) {
    constexpr double left = margin + 40;  // right of the rows' names
    constexpr double right = chart_width - margin;
    constexpr double high = 52;  // the highest column
    constexpr double room_above = 16;
    constexpr double room_below = 22;
    double most = 0.0;
    for (const ColumnRow& row : chart.rows)
        for (const StackedColumn& column : row.columns) most = std::max(most, column.whole());
    Drawing drawing = with_title(chart.title);
    if (!chart.rows.empty()) drawing.lines(chart.unit, note_size, quiet_ink);
    for (const ColumnRow& row : chart.rows) {
        const double base = drawing.y + room_above + high;
        const double step = (right - left) / static_cast<double>(row.columns.size());
        drawing.content += words_at(margin, base, row.label, "start", text_ink, label_size);
        for (std::size_t i = 0; i < row.columns.size(); ++i) {
            const StackedColumn& column = row.columns[i];
            const double x = left + step * static_cast<double>(i);
            double y = base;
            for (std::size_t part = 0; part < column.values.size(); ++part) {
                const double part_high = most > 0.0 ? column.values[part] / most * high : 0.0;
                if (part_high <= 0.0) continue;
                y -= part_high;
                drawing.content +=
                    box(x + 0.14 * step, y, 0.72 * step, part_high, tones[part % tones.size()]);
            }
            if (const double whole = column.whole(); whole > 0.0) {
                const std::string words = fmt::format("{:.6g}", whole);
                drawing.content += words_at(x + step / 2, y - 4, words, "middle", text_ink, note_size);
                drawing.say(row.label + "-" + column.label, words);
            }
            drawing.content +=
                words_at(x + step / 2, base + 13, column.label, "middle", quiet_ink, note_size - 1);
        }
        drawing.content += box(left, base, right - left, 1, line_ink);
        drawing.y = base + room_below;
    }
    double x = margin;
    drawing.y += chart.series.empty() ? 0 : 14;
    for (std::size_t part = 0; part < chart.series.size(); ++part) {
        const double room = 30 + room_for(chart.series[part], note_size);
        if (x > margin && x + room > right) {
            x = margin;
            drawing.y += 18;
        }
        drawing.content += box(x, drawing.y - 9, 10, 10, tones[part % tones.size()]);
        drawing.content += words_at(x + 15, drawing.y, chart.series[part], "start", text_ink, note_size);
        x += room;
    }
    return page(std::move(drawing), chart.title, chart.rows.empty(), chart.note);
}

}  // namespace frayhold::pack
