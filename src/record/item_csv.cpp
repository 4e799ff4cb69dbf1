// SPDX-License-Identifier: Apache-2.0
#include "record/item_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <functional>

#include "language/tr.h"
#include "record/csv.h"
#include "record/text.h"

namespace frayhold::record {
namespace {

struct Field {
    std::string name;
    std::vector<std::string_view> headings;  // further words for it, folded
    std::function<std::string(const Item&)> get;
    std::function<Result<void>(Item&, const std::string&)> set;
};

tl::unexpected<Error> wrong(const std::string& field, const std::string& text, const std::string& mend) {
    return failed(Fault::input, field, trf("\"{}\" cannot stand here", text), mend);
}

Field text_field(std::string name, std::vector<std::string_view> headings, std::string Item::*member) {
    return {std::move(name), std::move(headings), [member](const Item& item) { return item.*member; },
            [member](Item& item, const std::string& text) -> Result<void> {
                item.*member = text;
                return {};
            }};
}

Field date_field(std::string name, std::vector<std::string_view> headings,
                 std::optional<Date> Item::*member) {
    const std::string field = name;
    return {std::move(name), std::move(headings),
            [member](const Item& item) { return item.*member ? to_text(*(item.*member)) : std::string(); },
            [member, field](Item& item, const std::string& text) -> Result<void> {
                const std::optional<Date> date = parse_label_date(text);
                if (!date) return wrong(field, text, "write a date such as 2019-03-14, 2019-03 or 2019");
                item.*member = date;
                return {};
            }};
}

// "45000", "45000 mm" or "45 m".
std::optional<double> millimetres_in(std::string_view text) {
    constexpr double mm_per_m = 1000.0;
    double factor = 1.0;
    if (text.ends_with("mm")) {
        text.remove_suffix(2);
    } else if (text.ends_with("m")) {
        text.remove_suffix(1);
        factor = mm_per_m;
    }
    while (text.ends_with(' ')) text.remove_suffix(1);
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value * factor;
}

Field length_field(std::string name, std::vector<std::string_view> headings,
                   std::optional<Millimetres> Item::*member) {
    const std::string field = name;
    return {std::move(name), std::move(headings),
            [member](const Item& item) {
                return item.*member ? fmt::format("{}", (item.*member)->value()) : std::string();
            },
            [member, field](Item& item, const std::string& text) -> Result<void> {
                const std::optional<double> mm = millimetres_in(text);
                if (!mm) return wrong(field, text, "write a length such as 45000, 45000 mm or 45 m");
                item.*member = Millimetres(*mm);
                return {};
            }};
}

Field years_field(std::string name, std::vector<std::string_view> headings,
                  std::optional<int> LifeRule::*member) {
    const std::string field = name;
    return {std::move(name), std::move(headings),
            [member](const Item& item) {
                return item.life.*member ? std::to_string(*(item.life.*member)) : std::string();
            },
            [member, field](Item& item, const std::string& text) -> Result<void> {
                int years = 0;
                const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), years);
                if (error != std::errc() || end != text.data() + text.size())
                    return wrong(field, text, "write a whole number of years");
                item.life.*member = years;
                return {};
            }};
}

Field kind_field() {
    return {"kind",
            {"type", "kind of item"},
            [](const Item& item) { return std::string(name_of(item.kind)); },
            [](Item& item, const std::string& text) -> Result<void> {
                for (const Kind kind : all_kinds()) {
                    if (text != name_of(kind) && search_words(text) != search_words(words_for(kind)))
                        continue;
                    item.kind = kind;
                    return {};
                }
                std::string names;
                for (const Kind kind : all_kinds())
                    names += (names.empty() ? "" : ", ") + std::string(name_of(kind));
                return wrong("kind", text, trf("write one of {}", names));
            }};
}

Field use_field() {
    return {"use",
            {"use rate", "frequency of use"},
            [](const Item& item) {
                return item.use == UseRate::unknown ? std::string() : std::string(name_of(item.use));
            },
            [](Item& item, const std::string& text) -> Result<void> {
                const std::optional<UseRate> use = use_rate_named(text);
                if (!use) return wrong("use", text, "write one of rare, regular, heavy, unknown");
                item.use = *use;
                return {};
            }};
}

// Written for the reader; taken in only where it says what an import does anyway.
Field fixed_field(std::string name, std::string usual, std::function<std::string(const Item&)> get) {
    const std::string field = name;
    return {
        std::move(name), {}, std::move(get), [field, usual](Item&, const std::string& text) -> Result<void> {
            if (text == usual) return {};
            return failed(
                Fault::input, field,
                trf("an import only brings in whole items in service, and here stands \"{}\"", text),
                "leave the row out, or empty the cell and put the item on hold once it is in");
        }};
}

const std::vector<Field>& fields() {
    static const std::vector<Field> all{
        text_field("mark", {"own mark", "our mark", "id", "item"}, &Item::mark),
        kind_field(),
        text_field("serial", {"serial number", "serial no"}, &Item::serial),
        text_field("maker", {"manufacturer", "made by"}, &Item::maker),
        text_field("supplier", {"bought from"}, &Item::supplier),
        text_field("model", {"product", "trade name"}, &Item::model),
        text_field("batch", {"lot", "batch number"}, &Item::batch),
        text_field("standard", {"norm"}, &Item::standard),
        text_field("material", {}, &Item::material),
        length_field("length_mm", {"length", "length in mm"}, &Item::length),
        length_field("diameter_or_width_mm",
                     {"diameter", "width", "size", "diameter or width", "diameter mm", "width mm"},
                     &Item::diameter_or_width),
        text_field("sheath_colour", {"colour", "color", "sheath color"}, &Item::sheath_colour),
        text_field("core_colour", {"core color"}, &Item::core_colour),
        date_field("made", {"date made", "date of manufacture", "manufactured"}, &Item::made),
        date_field("bought", {"date bought", "date of purchase", "purchased"}, &Item::bought),
        date_field("first_used", {"first use", "date of first use", "in use since"}, &Item::first_used),
        text_field("place", {"location", "kept at"}, &Item::place),
        text_field("kit", {"set"}, &Item::kit),
        text_field("used_by", {"user", "user name"}, &Item::used_by),
        use_field(),
        years_field("life_years_from_made", {"life from made", "life from date made"},
                    &LifeRule::years_from_made),
        years_field("life_years_from_first_use", {"life from first use"}, &LifeRule::years_from_first_use),
        {"life_source",
         {},
         [](const Item& item) { return item.life.source; },
         [](Item& item, const std::string& text) -> Result<void> {
             item.life.source = text;
             return {};
         }},
        text_field("note", {"notes", "remark", "remarks"}, &Item::note),
        fixed_field("status", "in_service",
                    [](const Item& item) { return std::string(name_of(item.status)); }),
        fixed_field("limit", "", [](const Item& item) { return item.limit; }),
        fixed_field("parent", "", [](const Item& item) { return item.parent; }),
    };
    return all;
}

const Field& field_named(const std::string& name) {
    const auto found = std::find_if(fields().begin(), fields().end(),
                                    [&](const Field& field) { return field.name == name; });
    if (found == fields().end())
        throw Failure(Fault::usage, trf("field {}", name), "an item has no such field",
                      "see the list of fields");
    return *found;
}

// Lower case, with one blank for every run of other signs.
std::string folded(std::string_view heading) {
    std::string out;
    for (const char c : heading) {
        const bool upper = c >= 'A' && c <= 'Z';
        const bool kept = upper || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') ||
                          static_cast<unsigned char>(c) >= 0x80;
        if (kept) {
            out += upper ? static_cast<char>(c - 'A' + 'a') : c;
        } else if (!out.empty() && out.back() != ' ') {
            out += ' ';
        }
    }
    if (!out.empty() && out.back() == ' ') out.pop_back();
    return out;
}

}  // namespace

const std::vector<std::string>& item_fields() {
    static const std::vector<std::string> names = [] {
        std::vector<std::string> list;
        for (const Field& field : fields()) list.push_back(field.name);
        return list;
    }();
    return names;
}

std::string field_for_heading(std::string_view heading) {
    const std::string words = folded(heading);
    for (const Field& field : fields())
        if (words == folded(field.name) ||
            std::find(field.headings.begin(), field.headings.end(), words) != field.headings.end())
            return field.name;
    return "";
}

Result<void> set_field(Item& item, const std::string& field, const std::string& text) {
    const std::string words = trimmed(text);
    if (words.empty()) return {};
    return field_named(field).set(item, words);
}

std::string field_text(const Item& item, const std::string& field) {
    return field_named(field).get(item);
}

std::string items_as_csv(const std::vector<Item>& items) {
    std::string csv = csv_row(item_fields());
    for (const Item& item : items) {
        std::vector<std::string> cells;
        for (const Field& field : fields()) cells.push_back(field.get(item));
        csv += csv_row(cells);
    }
    return csv;
}

}  // namespace frayhold::record
