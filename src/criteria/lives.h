// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

// How long makers let their products live, as data. Files: templates/lives/**.json; their form is described
// by templates/lives/form.md and held by load_lives.
namespace frayhold::criteria {

// Whole years; empty where the maker gives no such limit. At least one of the two is there.
struct MakersLife {
    std::optional<int> years_from_made;
    std::optional<int> years_from_first_use;
    std::string source;  // the maker's document, page and issue
};

// All tables loaded.
class LifeTable {
  public:
    // What the maker says of a model of a kind ("rope_low_stretch"). A line that names the model comes before
    // one that names the kind, and that before one for all the maker makes. Maker and model match whatever
    // their case and spacing. Empty where nothing is known.
    [[nodiscard]] std::optional<MakersLife> life_of(std::string_view maker, std::string_view model,
                                                    std::string_view kind) const;

  private:
    friend LifeTable load_lives(std::span<const std::filesystem::path> files,
                                std::span<const std::string_view> known_kinds);

    struct Line {
        std::string maker;  // folded
        std::string model;  // folded; empty: every model
        std::string kind;   // empty: every kind
        MakersLife life;
    };
    std::vector<Line> lines_;  // nearest first
};

// Reads every file or none. known_kinds: what a line may name as its kind. Throws Failure (Fault::input)
// naming the file and the field.
[[nodiscard]] LifeTable load_lives(std::span<const std::filesystem::path> files,
                                   std::span<const std::string_view> known_kinds);

}  // namespace frayhold::criteria
