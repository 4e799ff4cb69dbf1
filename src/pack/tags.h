// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "pack/pdf_document.h"
#include "record/case_file.h"
#include "record/life.h"
#include "units/date.h"

// Tags and lists to print, each with a QR code and the mark in plain letters beside it. The same input gives
// the same bytes.
namespace frayhold::pack {

// "frayhold:item:K-12" and "frayhold:hold:H-2026-0001": what the QR codes say.
[[nodiscard]] std::string item_code(const std::string& mark);
[[nodiscard]] std::string hold_code(const std::string& number);

// A sheet of self-adhesive labels as shops sell them, by paper and grid. Common practice, no source.
struct LabelSheet {
    std::string_view name;  // "a4-3x7": three labels across, seven down
    Paper paper;
    int across = 1;
    int down = 1;
    double width_mm = 0;  // of one label
    double height_mm = 0;
    double left_mm = 0;  // from the paper's edge to the first label
    double top_mm = 0;
    double step_x_mm = 0;  // from label to label
    double step_y_mm = 0;
};

[[nodiscard]] std::span<const LabelSheet> label_sheets();

struct TaggedItem {
    record::Item item;
    record::LifeEnd life;
    std::optional<Date> check_due;
    std::string hold;  // the running hold's number; may be empty
};

// Labels for items, from the given label of the first sheet on (1 is the top left one), so that a sheet begun
// can be used up. Throws Failure (Fault::input) where there is no such label.
[[nodiscard]] std::vector<std::byte> item_tags_pdf(std::span<const TaggedItem> items, const LabelSheet& sheet,
                                                   int first_label);

// One tag of A6 with cutting marks, to tie to an item on hold: in letters that are read from afar.
[[nodiscard]] std::vector<std::byte> hold_tag_pdf(const record::CaseFile& file, const Paper& paper);

// What should lie on a shelf or in a kit, to tick off: status, limit, end of life and next check beside each
// mark.
[[nodiscard]] std::vector<std::byte> shelf_list_pdf(const std::string& title,
                                                    std::span<const TaggedItem> items, const Paper& paper,
                                                    Time made);

}  // namespace frayhold::pack
