// SPDX-License-Identifier: Apache-2.0
// How often the truth lies within U, over random rendered scenes with fixed seeds.
// Usage: bench_coverage [scenes a kind] [first seed] [csv file]
// Prints a table; the csv holds one line a reading, for plots.
#include <fmt/format.h>

#include <cstdlib>
#include <fstream>
#include <iostream>
#include <thread>

#include "bench/scene_trials.h"

namespace {

using frayhold::bench::Trial;
using frayhold::render::Framing;
using frayhold::render::SceneKind;

void print_figures(const std::string& title, const std::vector<Trial>& trials) {
    std::size_t found = 0, usable = 0;
    for (const Trial& t : trials) {
        found += t.card_found;
        usable += t.usable;
    }
    fmt::print("\n{}: {} scenes, card found in {}, usable {}\n", title, trials.size(), found, usable);
    fmt::print("  {:<18} {:>5} {:>6} {:>8} {:>9} {:>14} {:>9}\n", "quantity", "read", "missed", "spurious",
               "within U", "median |error|", "median U");
    for (const auto& [measurand, f] : frayhold::bench::figures_of(trials))
        fmt::print("  {:<18} {:>5} {:>6} {:>8} {:>8.1f}% {:>14.3f} {:>9.3f}\n",
                   frayhold::gauge::name_of(measurand), f.read, f.missed, f.spurious,
                   f.read ? 100.0 * f.covered / f.read : 0.0, f.median_error, f.median_U);
    std::cout.flush();
}

// Cards by themselves: found, placed, and never seen where none lies, among books, phones, other cards and
// sheets.
void print_cards(std::uint64_t first, int count, int threads) {
    using frayhold::render::CardSort;
    const struct {
        const char* name;
        CardSort sort;
    } sorts[] = {{"printed card", CardSort::printed},
                 {"plain ID-1 card", CardSort::plain_id1},
                 {"no card", CardSort::none}};
    fmt::print("\ncards among things like them, {} scenes each\n", count);
    for (const auto& sort : sorts) {
        const auto figures = frayhold::bench::try_cards(first, count, sort.sort, threads);
        fmt::print("  {:<18} found {:>4}, false {:>3}, assumed {:>3}, median corner error {:.3f} px\n",
                   sort.name, figures.found, figures.wrong, figures.assumed, figures.median_corner_px);
    }
    std::cout.flush();
}

void append_csv(std::ofstream& csv, const std::string& title, const std::vector<Trial>& trials) {
    for (const Trial& t : trials)
        for (const auto& [measurand, outcome] : t.outcomes)
            csv << fmt::format("\"{}\",{},{},{},{},{},{:.3f},{:.1f},{:.3f}\n", title, t.seed,
                               frayhold::gauge::name_of(measurand), outcome.truth, outcome.value, outcome.U,
                               t.tilt_deg, t.distance_mm, t.blur_px);
}

}  // namespace

int main(int argc, char** argv) {
    const int count = argc > 1 ? std::atoi(argv[1]) : 30;
    const auto first = static_cast<std::uint64_t>(argc > 2 ? std::atoll(argv[2]) : 100'000);
    std::ofstream csv;
    if (argc > 3) {
        csv.open(argv[3]);
        csv << "scenes,seed,quantity,truth,value,U,tilt_deg,distance_mm,blur_px\n";
    }
    const int threads = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
    const struct {
        const char* name;
        SceneKind kind;
    } kinds[] = {{"rope", SceneKind::rope},
                 {"frayed rope", SceneKind::frayed_rope},
                 {"core seen", SceneKind::core_rope},
                 {"flattened rope", SceneKind::flattened_rope},
                 {"webbing", SceneKind::webbing}};
    print_cards(first, count, threads);
    for (const Framing framing : {Framing::card_sixth, Framing::anywhere})
        for (const auto& kind : kinds) {
            const std::string title =
                fmt::format("{}, {}", kind.name,
                            framing == Framing::card_sixth ? "card a sixth of the frame" : "anywhere");
            const auto trials = frayhold::bench::run_trials(first, count, kind.kind, framing, threads);
            print_figures(title, trials);
            if (csv.is_open()) append_csv(csv, title, trials);
        }
    // As the guide asks for: the heights of the fibres hardly count.
    const std::string title = "frayed rope, straight above";
    const auto trials =
        frayhold::bench::run_trials(first, count, SceneKind::frayed_rope, Framing::straight_above, threads);
    print_figures(title, trials);
    if (csv.is_open()) append_csv(csv, title, trials);
}
