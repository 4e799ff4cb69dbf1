// SPDX-License-Identifier: Apache-2.0
#include "criteria/table.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <nlohmann/json.hpp>
#include <set>
#include <utility>

#include "criteria/table_fields.h"
#include "units/error.h"

namespace frayhold::criteria {
namespace {

template <class Value>
using Names = std::array<std::pair<Value, std::string_view>, 3>;

constexpr Names<Subject> subject_names{{
    {Subject::rope, "rope"},
    {Subject::webbing, "webbing"},
    {Subject::lanyard, "lanyard"},
}};
constexpr Names<Outcome> outcome_names{{
    {Outcome::retire, "retire"},
    {Outcome::hold_and_ask, "hold_and_ask"},
    {Outcome::no_criterion_met, "no_criterion_met"},
}};

template <class Value>
std::string_view name_in(const Names<Value>& names, Value value) {
    return std::find_if(names.begin(), names.end(), [&](const auto& row) { return row.first == value; })
        ->second;
}

template <class Value>
std::optional<Value> value_in(const Names<Value>& names, std::string_view name) {
    const auto* const row =
        std::find_if(names.begin(), names.end(), [&](const auto& each) { return each.second == name; });
    if (row == names.end()) return std::nullopt;
    return row->first;
}

std::vector<Subject> read_subjects(Fields& fields) {
    const Json& value = fields.required("subjects");
    if (value == "any") return {Subject::rope, Subject::webbing, Subject::lanyard};
    std::vector<Subject> subjects;
    for (const std::string& name : fields.texts("subjects")) {
        const auto subject = subject_named(name);
        if (!subject)
            fields.reject("subjects", trf("'{}' is not known", name),
                          tr_later("use rope, webbing, lanyard, or \"any\" in place of the list"));
        subjects.push_back(*subject);
    }
    return subjects;
}

Measured read_measured(const Json& object, const std::string& file, const std::string& path) {
    Fields fields(object, file, path);
    Measured measured;
    measured.quantity = fields.one_of("quantity", gauge::measurand_named);
    if (fields.optional("ratio_to") != nullptr)
        measured.ratio_to = fields.one_of("ratio_to", gauge::measurand_named);

    const Json& limit = fields.required("limit");
    if (limit.is_number())
        measured.limit = limit.get<double>();
    else if (limit != "any")
        fields.reject("limit", tr_later("is neither a number nor \"any\""),
                      tr_later("give the limit in the unit of the quantity"));

    if (fields.optional("side") != nullptr)
        measured.side = fields.one_of("side", [](const std::string& name) -> std::optional<Measured::Side> {
            if (name == "above") return Measured::Side::above;
            if (name == "below") return Measured::Side::below;
            return std::nullopt;
        });
    if (measured.side == Measured::Side::below && limit == "any")
        fields.reject("limit", tr_later("\"any\" can't be met from below"), tr_later("give a number"));

    if (const Json* band = fields.optional("guard_band")) {
        if (!band->is_number() || band->get<double>() < 0.0)
            fields.reject("guard_band", tr_later("is not a number of 0 or more"),
                          tr_later("give it as a share of U, 1 for the whole of U"));
        measured.guard_band = band->get<double>();
    }
    fields.nothing_else();
    return measured;
}

Criterion read_criterion(const Json& object, const std::string& file, const std::string& path) {
    Fields fields(object, file, path);
    Criterion criterion;
    criterion.name = fields.name("name");
    criterion.subjects = read_subjects(fields);
    if (const Json* measured = fields.optional("measured"))
        criterion.measured = read_measured(*measured, file, path + ".measured");
    if (fields.optional("findings") != nullptr) criterion.findings = fields.texts("findings");
    if (!criterion.measured && criterion.findings.empty())
        fields.reject("", tr_later("has neither 'measured' nor 'findings'"),
                      tr_later("say by what it is met"));

    criterion.outcome = fields.one_of("outcome", outcome_named);
    if (fields.optional("outcome_without_maker") != nullptr)
        criterion.outcome_without_maker = fields.one_of("outcome_without_maker", outcome_named);
    if (criterion.outcome == Outcome::no_criterion_met ||
        criterion.outcome_without_maker == Outcome::no_criterion_met)
        fields.reject("outcome", tr_later("a criterion that is met can't ask for nothing"),
                      tr_later("use retire or hold_and_ask"));

    criterion.source = fields.text("source");
    criterion.words = fields.text("words");
    if (const Json* second_view = fields.optional("second_view")) {
        if (!second_view->is_boolean())
            fields.reject("second_view", tr_later("is neither true nor false"),
                          tr_later("write true or false"));
        criterion.second_view = second_view->get<bool>();
    }
    fields.nothing_else();
    return criterion;
}

FindingKind read_finding(const Json& object, const std::string& file, const std::string& path) {
    Fields fields(object, file, path);
    FindingKind kind;
    kind.name = fields.name("name");
    kind.subjects = read_subjects(fields);
    kind.words = fields.text("words");
    fields.nothing_else();
    return kind;
}

bool holds_for(const std::vector<Subject>& subjects, Subject subject) {
    return std::find(subjects.begin(), subjects.end(), subject) != subjects.end();
}

}  // namespace

std::string_view name_of(Subject subject) {
    return name_in(subject_names, subject);
}
std::optional<Subject> subject_named(std::string_view name) {
    return value_in(subject_names, name);
}
std::string_view name_of(Outcome outcome) {
    return name_in(outcome_names, outcome);
}
std::optional<Outcome> outcome_named(std::string_view name) {
    return value_in(outcome_names, name);
}

std::vector<FindingKind> Table::findings(Subject subject) const {
    std::vector<FindingKind> kinds;
    std::copy_if(findings_.begin(), findings_.end(), std::back_inserter(kinds),
                 [&](const FindingKind& kind) { return holds_for(kind.subjects, subject); });
    return kinds;
}

std::optional<FindingKind> Table::finding_named(std::string_view kind) const {
    const auto found = std::find_if(findings_.begin(), findings_.end(),
                                    [&](const FindingKind& each) { return each.name == kind; });
    if (found == findings_.end()) return std::nullopt;
    return *found;
}

std::vector<Criterion> Table::criteria(Subject subject, std::string_view maker,
                                       std::string_view model) const {
    std::vector<Criterion> chosen;
    for (const Layer& layer : layers_) {
        if (!layer.maker.empty() && layer.maker != folded(maker)) continue;
        if (!layer.model.empty() && layer.model != folded(model)) continue;
        for (const Criterion& criterion : layer.criteria) {
            if (!holds_for(criterion.subjects, subject)) continue;
            const auto same = std::find_if(chosen.begin(), chosen.end(), [&](const Criterion& each) {
                return each.name == criterion.name;
            });
            if (same == chosen.end())
                chosen.push_back(criterion);
            else
                *same = criterion;
        }
    }
    return chosen;
}

Table load_tables(std::span<const std::filesystem::path> files) {
    Table table;
    for (const std::filesystem::path& path : files) {
        const std::string file = path.string();
        const Json json = read_json(path);
        Fields fields(json, file, "");
        fields.text("title");
        Table::Layer layer{
            file, folded(fields.optional_text("maker")), folded(fields.optional_text("model")), {}};
        if (!layer.model.empty() && layer.maker.empty())
            fields.reject("model", tr_later("stands without a maker"), tr_later("name the maker too"));

        if (fields.optional("findings") != nullptr) {
            std::size_t i = 0;
            for (const Json& object : fields.list("findings")) {
                FindingKind kind = read_finding(object, file, fmt::format("findings[{}]", i++));
                if (table.finding_named(kind.name))
                    fields.reject("findings", trf("'{}' is listed twice", kind.name),
                                  tr_later("leave one out"));
                table.findings_.push_back(std::move(kind));
            }
        }
        std::size_t i = 0;
        for (const Json& object : fields.list("criteria"))
            layer.criteria.push_back(read_criterion(object, file, fmt::format("criteria[{}]", i++)));
        fields.nothing_else();
        table.layers_.push_back(std::move(layer));
    }

    // Common tables first, then a maker's, then a model's, so that the nearest one has the last word.
    const auto nearness = [](const Table::Layer& layer) {
        return int(!layer.maker.empty()) + int(!layer.model.empty());
    };
    std::stable_sort(table.layers_.begin(), table.layers_.end(),
                     [&](const auto& a, const auto& b) { return nearness(a) < nearness(b); });

    std::set<std::string> seen;
    for (const Table::Layer& layer : table.layers_) {
        for (const Criterion& criterion : layer.criteria) {
            if (!seen.insert(layer.maker + '\n' + layer.model + '\n' + criterion.name).second)
                throw Failure(Fault::input, layer.file, trf("criterion '{}' is given twice", criterion.name),
                              "leave one out");
            for (const std::string& kind : criterion.findings)
                if (!table.finding_named(kind))
                    throw Failure(Fault::input, layer.file,
                                  trf("criterion '{}' asks for the finding '{}', which is not listed",
                                      criterion.name, kind),
                                  "list it under findings or check its spelling");
        }
    }
    return table;
}

std::vector<std::filesystem::path> table_files(std::span<const std::filesystem::path> folders) {
    std::error_code none;
    const auto folder = std::find_if(folders.begin(), folders.end(), [&](const std::filesystem::path& each) {
        return std::filesystem::is_directory(each, none);
    });
    if (folder == folders.end())
        throw Failure(Fault::outside, tr("criteria tables"), "no folder of tables is found",
                      "install the templates again");
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(*folder))
        if (entry.is_regular_file() && entry.path().extension() == ".json") files.push_back(entry.path());
    if (files.empty())
        throw Failure(Fault::outside, folder->string(), "the folder holds no table",
                      "install the templates again");
    std::sort(files.begin(), files.end());
    return files;
}

}  // namespace frayhold::criteria
