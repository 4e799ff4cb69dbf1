// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "gauge/measurand.h"

// The retirement criteria, as data. Files: templates/criteria/**.json; their form is described by
// templates/criteria/form.md and held by load_tables.
namespace frayhold::criteria {

// What the item is to the tables: a cord counts as rope, a sling or a harness as webbing, a cow's tail as
// lanyard.
enum class Subject { rope, webbing, lanyard };

// What a criterion asks for. Nothing here says that an item is fit: that is not for a program to say.
enum class Outcome { retire, hold_and_ask, no_criterion_met };

// The names in the tables and in JSON.
[[nodiscard]] std::string_view name_of(Subject subject);
[[nodiscard]] std::optional<Subject> subject_named(std::string_view name);
[[nodiscard]] std::string_view name_of(Outcome outcome);
[[nodiscard]] std::optional<Outcome> outcome_named(std::string_view name);

// The measured side of a criterion: met when quantity, or quantity / ratio_to, lies beyond the limit.
struct Measured {
    enum class Side { above, below };

    gauge::Measurand quantity{};
    std::optional<gauge::Measurand> ratio_to;
    double limit = 0.0;  // mm, mm2 or 1 as the quantity has; 1 for a ratio; 0 where the table says "any"
    Side side = Side::above;
    double guard_band = 1.0;  // w / U: the share of the expanded uncertainty kept clear of the limit
};

struct Criterion {
    std::string name;               // "core_seen"
    std::vector<Subject> subjects;  // never empty
    std::optional<Measured> measured;
    std::vector<std::string> findings;  // kinds of hand findings, any one of which meets the criterion
    Outcome outcome = Outcome::hold_and_ask;
    std::optional<Outcome> outcome_without_maker;  // where no maker can be asked
    std::string source;                            // standard and clause, or "common practice"
    std::string words;                             // what to do and why, for the person
    bool second_view = false;                      // asks for a further view of the damage
};

// A kind of hand finding that the tables know: for forms and for checking what was entered.
struct FindingKind {
    std::string name;
    std::vector<Subject> subjects;
    std::string words;  // "Melted or fused fibres"
};

// All tables loaded. A maker's own criterion takes the place of the common one of the same name, for every
// model of that maker or for one; it can't take a criterion away.
class Table {
  public:
    // The kinds of finding for a subject, in the order of the files.
    [[nodiscard]] std::vector<FindingKind> findings(Subject subject) const;
    [[nodiscard]] std::optional<FindingKind> finding_named(std::string_view kind) const;

    // The criteria that hold for an item, in the order of the files. Maker and model match whatever their
    // case and spacing; either may be empty.
    [[nodiscard]] std::vector<Criterion> criteria(Subject subject, std::string_view maker,
                                                  std::string_view model) const;

  private:
    friend Table load_tables(std::span<const std::filesystem::path> files);

    struct Layer {
        std::string file;
        std::string maker;  // folded; empty: every maker
        std::string model;  // folded; empty: every model
        std::vector<Criterion> criteria;
    };
    std::vector<FindingKind> findings_;
    std::vector<Layer> layers_;  // common tables first, then makers', then models'
};

// Reads every file or none. Throws Failure (Fault::input) naming the file and the field.
[[nodiscard]] Table load_tables(std::span<const std::filesystem::path> files);

// Every .json under the first of the folders that exists, sorted by path. Throws Failure (Fault::outside)
// where none exists or it holds no table.
[[nodiscard]] std::vector<std::filesystem::path> table_files(std::span<const std::filesystem::path> folders);

}  // namespace frayhold::criteria
