// SPDX-License-Identifier: Apache-2.0
#include "record/item.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "language/tr.h"
#include "record/named.h"

namespace frayhold::record {
namespace {

constexpr std::array kinds{
    Named<Kind>{Kind::rope_low_stretch, "rope_low_stretch", tr_later("low-stretch rope")},
    Named<Kind>{Kind::rope_dynamic, "rope_dynamic", tr_later("dynamic rope")},
    Named<Kind>{Kind::accessory_cord, "accessory_cord", tr_later("accessory cord")},
    Named<Kind>{Kind::sewn_sling, "sewn_sling", tr_later("sewn sling")},
    Named<Kind>{Kind::lanyard, "lanyard", tr_later("lanyard")},
    Named<Kind>{Kind::cows_tail, "cows_tail", tr_later("cow's tail")},
    Named<Kind>{Kind::harness, "harness", tr_later("harness")},
    Named<Kind>{Kind::wear_sleeve, "wear_sleeve", tr_later("wear sleeve")},
};

constexpr std::array statuses{
    Named<ItemStatus>{ItemStatus::in_service, "in_service", tr_later("in service")},
    Named<ItemStatus>{ItemStatus::on_hold, "on_hold", tr_later("on hold")},
    Named<ItemStatus>{ItemStatus::in_service_with_limit, "in_service_with_limit",
                      tr_later("in service with a limit")},
    Named<ItemStatus>{ItemStatus::retired, "retired", tr_later("retired")},
    Named<ItemStatus>{ItemStatus::sent_to_maker, "sent_to_maker", tr_later("with the maker")},
};

constexpr std::array use_rates{
    Named<UseRate>{UseRate::unknown, "unknown", tr_later("not recorded")},
    Named<UseRate>{UseRate::rare, "rare", tr_later("rare")},
    Named<UseRate>{UseRate::regular, "regular", tr_later("regular")},
    Named<UseRate>{UseRate::heavy, "heavy", tr_later("heavy")},
};

bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

bool is_control(char c) {
    return static_cast<unsigned char>(c) < 0x20 || c == 0x7f;
}

std::optional<Error> wrong_mark(const std::string& mark) {
    if (mark.empty())
        return Error{Fault::input, tr("the item has no mark of its own"), tr("mark"),
                     tr("give it one, as in K-12")};
    if (mark.size() > 100)
        return Error{Fault::input, tr("the mark is longer than 100 bytes"), tr("mark"),
                     tr("choose a shorter one")};
    if (is_blank(mark.front()) || is_blank(mark.back()))
        return Error{Fault::input, tr("the mark begins or ends with a blank"), tr("mark"),
                     tr("leave the blank out")};
    if (std::any_of(mark.begin(), mark.end(), is_control))
        return Error{Fault::input, tr("the mark holds a line break or another control character"), tr("mark"),
                     tr("use letters, digits and signs")};
    return std::nullopt;
}

std::optional<Error> wrong_size(const std::optional<Millimetres>& size, const std::string& field) {
    if (!size) return std::nullopt;
    // 100 km: far above any rope, so that a slip of the unit is noticed.
    if (std::isfinite(size->value()) && size->value() > 0.0 && size->value() <= 1e8) return std::nullopt;
    return Error{Fault::input, trf("{} mm is no size", size->value()), field, tr("give it above 0 mm")};
}

std::optional<Error> wrong_years(const std::optional<int>& years, const std::string& field) {
    if (!years || (*years >= 1 && *years <= 100)) return std::nullopt;
    return Error{Fault::input, trf("{} years is no life", *years), field, tr("give 1 to 100 whole years")};
}

std::optional<Error> wrong_order(const std::optional<Date>& earlier, const std::optional<Date>& later,
                                 const std::string& earlier_name, const std::string& later_name) {
    if (!earlier || !later || *earlier <= *later) return std::nullopt;
    return Error{
        Fault::input,
        trf("{} ({}) lies before {} ({})", later_name, to_text(*later), earlier_name, to_text(*earlier)),
        later_name, tr("look at the label and the papers again")};
}

}  // namespace

std::string_view name_of(Kind kind) {
    return entry_for(kinds, kind).name;
}
std::string_view name_of(ItemStatus status) {
    return entry_for(statuses, status).name;
}
std::string_view name_of(UseRate use) {
    return entry_for(use_rates, use).name;
}
std::optional<UseRate> use_rate_named(std::string_view name) {
    return value_named(use_rates, name);
}
std::optional<Kind> kind_named(std::string_view name) {
    return value_named(kinds, name);
}
std::optional<ItemStatus> item_status_named(std::string_view name) {
    return value_named(statuses, name);
}
std::string words_for(Kind kind) {
    return tr_word(entry_for(kinds, kind).words);
}
std::string words_for(ItemStatus status) {
    return tr_word(entry_for(statuses, status).words);
}
std::string words_for(UseRate use) {
    return tr_word(entry_for(use_rates, use).words);
}

const std::vector<ItemStatus>& all_item_statuses() {
    static const std::vector<ItemStatus> all = values_of(statuses);
    return all;
}

const std::vector<UseRate>& all_use_rates() {
    static const std::vector<UseRate> all = values_of(use_rates);
    return all;
}

bool is_in_service(ItemStatus status) {
    return status == ItemStatus::in_service || status == ItemStatus::in_service_with_limit;
}

const std::vector<Kind>& all_kinds() {
    static const std::vector<Kind> all = values_of(kinds);
    return all;
}

bool can_be_cut(Kind kind) {
    return kind == Kind::rope_low_stretch || kind == Kind::rope_dynamic || kind == Kind::accessory_cord;
}

std::string length_words(Millimetres length) {
    if (std::abs(length.value()) < 1000.0) return fmt::format("{:.6g} mm", length.value());
    std::string metres = fmt::format("{:.3f}", length.value() / 1000.0);
    metres.erase(metres.find_last_not_of('0') + 1);
    if (metres.back() == '.') metres.pop_back();
    return metres + " m";
}

std::optional<Date> parse_label_date(std::string_view text) {
    std::string whole(text);
    if (whole.size() == 4) whole += "-01";
    if (whole.size() == 7) whole += "-01";
    return parse_date(whole);
}

Result<void> check_item(const Item& item) {
    if (std::optional<Error> wrong = wrong_mark(item.mark)) return tl::make_unexpected(*std::move(wrong));
    const std::array checks{
        wrong_size(item.length, tr("length")),
        wrong_size(item.diameter_or_width, tr("diameter or width")),
        wrong_years(item.life.years_from_made, tr("life from date made")),
        wrong_years(item.life.years_from_first_use, tr("life from first use")),
        wrong_order(item.made, item.bought, tr("date made"), tr("date bought")),
        wrong_order(item.made, item.first_used, tr("date made"), tr("date of first use")),
        wrong_order(item.bought, item.first_used, tr("date bought"), tr("date of first use")),
    };
    for (const std::optional<Error>& wrong : checks) {
        if (!wrong) continue;
        Error error = *wrong;
        error.where = trf("item {}, {}", item.mark, error.where);
        return tl::make_unexpected(std::move(error));
    }
    return {};
}

}  // namespace frayhold::record
