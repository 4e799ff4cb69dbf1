// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "pack/lettering.h"
#include "pack/pdf_document.h"

// Fills pages from top to bottom. All lengths in points.
namespace frayhold::pack {

// A piece of a page that is never split.
struct Block {
    double height = 0;
    double gap = 0;          // above it, unless it begins a page
    bool with_next = false;  // must stand on the same page as the block behind it
    std::function<void(cairo_t*, double x, double y)> draw;  // from its top left corner
    // Drawn once more above this block where it begins a page: the heading of a table. May be empty.
    std::shared_ptr<const Block> repeated;
};

// The part of every page that blocks may fill.
struct TextArea {
    double left = 0;
    double top = 0;
    double width = 0;
    double bottom = 0;
};

class Flow {
  public:
    Flow(PdfDocument& document, const TextArea& area) : document_(document), area_(area) {}

    [[nodiscard]] cairo_t* context() const { return document_.context(); }
    [[nodiscard]] double width() const { return area_.width; }
    [[nodiscard]] double page_height() const { return area_.bottom - area_.top; }

    void add(Block block) { blocks_.push_back(std::move(block)); }

    // Draws all blocks, page by page; `furniture` draws what stands outside the text area. Blocks bound
    // together (with_next) that are higher than a page are parted after all.
    void draw_pages(const std::function<void(cairo_t*, int page, int count)>& furniture) const;

  private:
    struct Placed {
        const Block* block = nullptr;
        double y = 0;
    };
    using Page = std::vector<Placed>;

    [[nodiscard]] std::vector<Page> paginate() const;

    PdfDocument& document_;
    TextArea area_;
    std::vector<Block> blocks_;
};

// A paragraph, line by line, with no single line of it alone on a page.
void add_paragraph(Flow& flow, std::string_view text, const Style& style, double gap, bool with_next = false);

struct Column {
    std::string heading;
    double width = 0;
    Align align = Align::left;
};

struct Cell {
    std::string text;
    Style style;
};

using Row = std::vector<Cell>;

// A table with hairlines between its rows, its heading repeated on every page. Columns without any heading
// text give a table without a heading line. A row is never split, unless it alone is higher than half a page.
void add_table(Flow& flow, const std::vector<Column>& columns, const std::vector<Row>& rows, double gap);

}  // namespace frayhold::pack
