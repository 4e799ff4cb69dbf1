// SPDX-License-Identifier: Apache-2.0
#include "desk/papers.h"

#include "language/tr.h"

namespace frayhold::desk {
namespace {

pack::TaggedItem tagged(const Desk& desk, const std::string& mark) {
    const ItemHistory history = desk.item_history(mark);
    pack::TaggedItem item{history.item, history.life, history.check_due, ""};
    for (const record::EarlierHold& hold : history.holds)
        if (!hold.verdict) item.hold = hold.hold.number;
    return item;
}

}  // namespace

std::vector<pack::TaggedItem> tagged_items(const Desk& desk, const std::vector<std::string>& marks,
                                           ItemFilter filter) {
    std::vector<pack::TaggedItem> items;
    for (const std::string& mark : marks) items.push_back(tagged(desk, mark));
    if (!marks.empty()) return items;
    filter.limit = 0;
    for (const record::Item& item : desk.find_items(filter))
        if (item.status != record::ItemStatus::retired) items.push_back(tagged(desk, item.mark));
    if (items.empty())
        throw Failure(Fault::input, tr("items"), "none is there to print", "check the kit or the place");
    return items;
}

const pack::LabelSheet* label_sheet_named(std::string_view name) {
    for (const pack::LabelSheet& sheet : pack::label_sheets())
        if (sheet.name == name) return &sheet;
    return nullptr;
}

std::optional<pack::Paper> paper_named(std::string_view name) {
    if (name == "a4") return pack::papers::a4;
    if (name == "letter") return pack::papers::letter;
    return std::nullopt;
}

std::vector<std::byte> hold_tag(const Desk& desk, const std::string& hold, const pack::Paper& paper) {
    const record::CaseFile file = desk.case_file(hold);
    if (file.verdict)
        throw Failure(Fault::refused, trf("hold {}", hold), "it is over: the verdict is given",
                      "take the tag off instead");
    return pack::hold_tag_pdf(file, paper);
}

std::vector<std::byte> item_record(const Desk& desk, const std::string& mark, int year,
                                   const std::string& outfit, Time made) {
    const ItemHistory history = desk.item_history(mark);
    pack::ItemRecordInput input;
    input.item = history.item;
    input.life = history.life;
    input.check_due = history.check_due;
    input.year = year;
    input.checks = history.checks;
    input.holds = history.holds;
    input.parts = history.parts;
    input.journal = history.journal;
    input.outfit = outfit;
    input.made = made;
    return pack::item_record_pdf(input);
}

}  // namespace frayhold::desk
