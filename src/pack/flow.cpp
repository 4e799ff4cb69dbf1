// SPDX-License-Identifier: Apache-2.0
#include "pack/flow.h"

#include <algorithm>

namespace frayhold::pack {
namespace {

constexpr double column_gap = 8;
constexpr double row_padding = 2.6;

struct Rule {
    double thickness = 0;
    Ink ink;
};
constexpr Rule between_rows{0.4, inks::line};
constexpr Rule above_heading{0.8, inks::text};

// A row's cells, set; lines first <= line < last of each are drawn.
struct SetRow {
    std::vector<TextBlock> cells;
    std::vector<double> left;
};

Block row_block(const std::shared_ptr<const SetRow>& row, double width, const Rule& rule, int first,
                int last) {
    double height = 0;
    for (const TextBlock& cell : row->cells)
        height = std::max(height, cell.height_of_lines_pt(first, std::min(last, cell.line_count())));
    Block block;
    block.height = height + 2 * row_padding;
    block.draw = [row, width, rule, first, last](cairo_t* context, double x, double y) {
        draw_rule(context, x, y, width, rule.thickness, rule.ink);
        // Cells of different size share their first baseline.
        double baseline = 0;
        for (const TextBlock& cell : row->cells) baseline = std::max(baseline, cell.baseline_pt());
        for (std::size_t i = 0; i < row->cells.size(); ++i) {
            const TextBlock& cell = row->cells[i];
            const double drop = first == 0 ? baseline - cell.baseline_pt() : 0;
            cell.draw_lines(context, x + row->left[i], y + row_padding + drop, first,
                            std::min(last, cell.line_count()));
        }
    };
    return block;
}

std::shared_ptr<const SetRow> set_row(cairo_t* context, const std::vector<Column>& columns, const Row& row) {
    auto out = std::make_shared<SetRow>();
    double left = 0;
    for (std::size_t i = 0; i < columns.size() && i < row.size(); ++i) {
        const bool last = i + 1 == columns.size();
        out->cells.emplace_back(context, row[i].text, row[i].style,
                                columns[i].width - (last ? 0 : column_gap), columns[i].align);
        out->left.push_back(left);
        left += columns[i].width;
    }
    return out;
}

}  // namespace

std::vector<Flow::Page> Flow::paginate() const {
    std::vector<Page> pages;
    double y = 0;
    const auto begin_page = [&] {
        pages.emplace_back();
        y = area_.top;
    };
    const auto place = [&](const Block& block) {
        const bool first = pages.back().empty();
        if (first && block.repeated) {
            pages.back().push_back({block.repeated.get(), y});
            y += block.repeated->height;
        } else if (!first) {
            y += block.gap;
        }
        pages.back().push_back({&block, y});
        y += block.height;
    };
    // Height of blocks from <= i < to below what stands on the page, or on a new one.
    const auto height_of = [&](std::size_t from, std::size_t to, bool new_page) {
        double height = 0;
        for (std::size_t i = from; i < to; ++i) {
            const bool first = new_page && i == from;
            height += blocks_[i].height + (first ? 0 : blocks_[i].gap);
            if (first && blocks_[i].repeated) height += blocks_[i].repeated->height;
        }
        return height;
    };

    begin_page();
    std::size_t from = 0;
    while (from < blocks_.size()) {
        std::size_t to = from + 1;
        while (to < blocks_.size() && blocks_[to - 1].with_next) ++to;
        const bool empty = pages.back().empty();
        if (!empty && y + height_of(from, to, false) > area_.bottom) {
            begin_page();
            continue;
        }
        const bool too_high = height_of(from, to, true) > page_height();
        for (; from < to; ++from) {
            if (too_high && !pages.back().empty() && y + height_of(from, from + 1, false) > area_.bottom)
                begin_page();
            place(blocks_[from]);
        }
    }
    return pages;
}

void Flow::draw_pages(const std::function<void(cairo_t*, int, int)>& furniture) const {
    const std::vector<Page> pages = paginate();
    int number = 0;
    for (const Page& page : pages) {
        for (const Placed& placed : page) placed.block->draw(context(), area_.left, placed.y);
        furniture(context(), ++number, static_cast<int>(pages.size()));
        document_.end_page();
    }
}

void add_paragraph(Flow& flow, std::string_view text, const Style& style, double gap, bool with_next) {
    const auto set = std::make_shared<const TextBlock>(flow.context(), text, style, flow.width());
    const int lines = set->line_count();
    for (int line = 0; line < lines; ++line) {
        Block block;
        block.height = set->height_of_lines_pt(line, line + 1);
        block.gap = line == 0 ? gap : 0;
        const bool keeps_two_at_an_end = line == 0 || line == lines - 2;
        block.with_next = line + 1 == lines ? with_next : keeps_two_at_an_end;
        block.draw = [set, line](cairo_t* context, double x, double y) {
            set->draw_lines(context, x, y, line, line + 1);
        };
        flow.add(std::move(block));
    }
}

void add_table(Flow& flow, const std::vector<Column>& columns, const std::vector<Row>& rows, double gap) {
    const double width = flow.width();
    const bool headed =
        std::any_of(columns.begin(), columns.end(), [](const Column& c) { return !c.heading.empty(); });
    std::shared_ptr<const Block> heading;
    if (headed && !rows.empty()) {
        Row names;
        for (const Column& column : columns)
            names.push_back(
                {column.heading, Style{.family = Family::sans, .size_pt = 6.8, .ink = inks::quiet}});
        constexpr int all_lines = 1 << 20;
        Block block = row_block(set_row(flow.context(), columns, names), width, above_heading, 0, all_lines);
        heading = std::make_shared<const Block>(block);
        block.gap = gap;
        block.with_next = true;
        flow.add(std::move(block));
    }
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const auto set = set_row(flow.context(), columns, rows[i]);
        int lines = 0;
        double height = 0;
        for (const TextBlock& cell : set->cells) {
            lines = std::max(lines, cell.line_count());
            height = std::max(height, cell.height_pt());
        }
        // Lines that fit half a page.
        const int share = height <= flow.page_height() / 2
                              ? lines
                              : std::max(1, static_cast<int>(lines * (flow.page_height() / 2) / height));
        for (int first = 0; first < lines; first += share) {
            Block block = row_block(set, width, between_rows, first, first + share);
            block.gap = i == 0 && first == 0 && !heading ? gap : 0;
            block.repeated = heading;
            // The closing line stays with the last row.
            block.with_next = i + 1 == rows.size() && first + share >= lines;
            flow.add(std::move(block));
        }
    }
    if (rows.empty()) return;
    Block foot;
    foot.height = between_rows.thickness;
    foot.draw = [width](cairo_t* context, double x, double y) {
        draw_rule(context, x, y, width, between_rows.thickness, between_rows.ink);
    };
    flow.add(std::move(foot));
}

}  // namespace frayhold::pack
