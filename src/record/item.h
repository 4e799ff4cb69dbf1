// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "units/date.h"
#include "units/error.h"
#include "units/quantity.h"

namespace frayhold::record {

enum class Kind {
    rope_low_stretch,
    rope_dynamic,
    accessory_cord,
    sewn_sling,
    lanyard,
    cows_tail,
    harness,
    wear_sleeve,
};

// How often the item is in use: by it the interval between two checks is chosen.
enum class UseRate { unknown, rare, regular, heavy };

enum class ItemStatus { in_service, on_hold, in_service_with_limit, retired, sent_to_maker };

// How long the maker lets the item live, in whole years. Empty where the maker gives no such limit.
struct LifeRule {
    std::optional<int> years_from_made;
    std::optional<int> years_from_first_use;
    std::string source{};  // where the maker says so

    bool operator==(const LifeRule&) const = default;
};

// One piece of equipment as the register knows it. Text is UTF-8; empty text means "not recorded".
struct Item {
    std::string mark;  // the owner's own mark, unique in the store: "K-12"
    std::string serial;
    std::string maker;
    std::string supplier;  // who sold it, with how to reach them
    std::string model;
    std::string batch;
    Kind kind = Kind::rope_low_stretch;
    std::string standard;  // as marked on the item: "EN 1891 A"
    std::string material;
    std::optional<Millimetres> length;             // whole length as it is now
    std::optional<Millimetres> diameter_or_width;  // as sold: diameter of a rope, width of webbing
    std::string sheath_colour;
    std::string core_colour;
    std::optional<Date> made;
    std::optional<Date> bought;
    std::optional<Date> first_used;
    std::string place;
    std::string kit;
    std::string used_by;  // who uses it, where it belongs to one person
    UseRate use = UseRate::unknown;
    LifeRule life;
    std::string parent;  // mark of the item this one was cut from; empty for a whole item
    std::string note;
    ItemStatus status = ItemStatus::in_service;
    std::string limit;  // with in_service_with_limit: the limit in words

    bool operator==(const Item&) const = default;
};

// The name in JSON, in the store and on the command line: "rope_low_stretch", "on_hold".
[[nodiscard]] std::string_view name_of(Kind kind);
[[nodiscard]] std::string_view name_of(ItemStatus status);
[[nodiscard]] std::string_view name_of(UseRate use);
[[nodiscard]] std::optional<Kind> kind_named(std::string_view name);
[[nodiscard]] std::optional<ItemStatus> item_status_named(std::string_view name);
[[nodiscard]] std::optional<UseRate> use_rate_named(std::string_view name);
// The same for a person: "low-stretch rope", "on hold".
[[nodiscard]] std::string words_for(Kind kind);
[[nodiscard]] std::string words_for(ItemStatus status);
[[nodiscard]] std::string words_for(UseRate use);
[[nodiscard]] const std::vector<Kind>& all_kinds();
[[nodiscard]] const std::vector<ItemStatus>& all_item_statuses();
[[nodiscard]] const std::vector<UseRate>& all_use_rates();

// In service, with a limit or without.
[[nodiscard]] bool is_in_service(ItemStatus status);

// Whether the item is kernmantle sold by length, so that damage can be cut out and the parts kept.
[[nodiscard]] bool can_be_cut(Kind kind);

// A length for a person: metres with the millimetres that matter, "42.5 m"; "850 mm" under one metre.
[[nodiscard]] std::string length_words(Millimetres length);

// What a label tells of a date: "2019-03-14", "2019-03" or "2019". Where the day or month is not known the
// earliest day it can mean is taken, since an older item is the unsafe case. Empty for anything else.
[[nodiscard]] std::optional<Date> parse_label_date(std::string_view text);

// Errors (Fault::input) name the field: no mark, a mark with control characters or blanks at its ends, a
// length or width that is not above zero, a life rule under one year, dates against their order (made,
// bought, first used).
[[nodiscard]] Result<void> check_item(const Item& item);

}  // namespace frayhold::record
