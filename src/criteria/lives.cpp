// SPDX-License-Identifier: Apache-2.0
#include "criteria/lives.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "criteria/table_fields.h"

namespace frayhold::criteria {
namespace {

std::optional<int> read_years(Fields& fields, const std::string& field) {
    const Json* value = fields.optional(field);
    if (value == nullptr) return std::nullopt;
    constexpr int most_years = 100;
    if (!value->is_number_integer() || *value < 1 || *value > most_years)
        fields.reject(field, tr_later("is not a whole number from 1 to 100"), tr_later("give whole years"));
    return value->get<int>();
}

MakersLife read_life(Fields& fields) {
    MakersLife life;
    life.years_from_made = read_years(fields, "years_from_made");
    life.years_from_first_use = read_years(fields, "years_from_first_use");
    if (!life.years_from_made && !life.years_from_first_use)
        fields.reject("", tr_later("has neither 'years_from_made' nor 'years_from_first_use'"),
                      tr_later("give one or both"));
    life.source = fields.text("source");
    return life;
}

}  // namespace

std::optional<MakersLife> LifeTable::life_of(std::string_view maker, std::string_view model,
                                             std::string_view kind) const {
    const std::string whose = folded(maker);
    const std::string which = folded(model);
    for (const Line& line : lines_)
        if (line.maker == whose && (line.model.empty() || line.model == which) &&
            (line.kind.empty() || line.kind == kind))
            return line.life;
    return std::nullopt;
}

LifeTable load_lives(std::span<const std::filesystem::path> files,
                     std::span<const std::string_view> known_kinds) {
    LifeTable table;
    std::set<std::string> seen;
    for (const std::filesystem::path& path : files) {
        const Json json = read_json(path);
        Fields file(json, path.string(), "");
        file.text("title");
        const std::string maker = folded(file.text("maker"));
        std::size_t i = 0;
        for (const Json& object : file.list("lives")) {
            Fields fields(object, path.string(), fmt::format("lives[{}]", i++));
            LifeTable::Line line;
            line.maker = maker;
            line.model = folded(fields.optional_text("model"));
            if (fields.optional("kind") != nullptr) {
                line.kind = fields.name("kind");
                if (std::find(known_kinds.begin(), known_kinds.end(), line.kind) == known_kinds.end())
                    fields.reject("kind", trf("'{}' is not known", line.kind),
                                  tr_later("use one of the names in the form"));
            }
            line.life = read_life(fields);
            fields.nothing_else();
            if (!seen.insert(line.maker + '\n' + line.model + '\n' + line.kind).second)
                fields.reject("", tr_later("speaks of what another line speaks of already"),
                              tr_later("leave one out"));
            table.lines_.push_back(std::move(line));
        }
        file.nothing_else();
    }
    const auto nearness = [](const LifeTable::Line& line) {
        return 2 * int(!line.model.empty()) + int(!line.kind.empty());
    };
    std::stable_sort(table.lines_.begin(), table.lines_.end(),
                     [&](const auto& a, const auto& b) { return nearness(a) > nearness(b); });
    return table;
}

}  // namespace frayhold::criteria
