// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "gauge/gauge.h"
#include "render/scene.h"

// Measures rendered scenes whose truth is known, with what a real picture would add: a focal length known
// from EXIF to a few per cent only, a card printed a little too large or too small, and a JPEG in between.
namespace frayhold::bench {

struct Trial {
    std::uint64_t seed = 0;
    render::SceneKind kind{};
    bool card_found = false;
    bool usable = false;
    double corner_error_px = 0.0;  // worst of the four
    double tilt_deg = 0.0;
    double distance_mm = 0.0;
    double blur_px = 0.0;  // the renderer's, one standard deviation
    struct Outcome {
        double truth = 0.0;
        double value = 0.0;
        double U = 0.0;
        [[nodiscard]] double error() const { return value - truth; }
        [[nodiscard]] bool covered() const { return error() <= U && -error() <= U; }
    };
    std::map<gauge::Measurand, Outcome> outcomes;  // read, and true of the scene
    std::vector<gauge::Measurand> spurious;        // read, though the scene has none
    std::vector<std::string> remarks;              // what the report says in words
    std::vector<gauge::Measurand> missed;          // true of the scene, but not read
};

// Same seed, same trial.
[[nodiscard]] Trial run_trial(std::uint64_t seed, render::SceneKind kind, render::Framing framing);

// Seeds first, first + 1, … on as many threads as asked for; in seed order.
[[nodiscard]] std::vector<Trial> run_trials(std::uint64_t first, int count, render::SceneKind kind,
                                            render::Framing framing, int threads);

// The automatic card search over scenes with things that could be taken for a card.
struct CardFigures {
    int found = 0;    // within 2 % of the card's own width
    int wrong = 0;    // something else taken for a card, or a card misplaced by more
    int assumed = 0;  // among those found: told to be assumed
    double median_corner_px = 0.0;
};
[[nodiscard]] CardFigures try_cards(std::uint64_t first, int count, render::CardSort sort, int threads);

// What many trials say of one measurand.
struct Figures {
    int read = 0;
    int missed = 0;
    int spurious = 0;
    int covered = 0;
    double median_error = 0.0;  // of its size
    double median_U = 0.0;
};
[[nodiscard]] std::map<gauge::Measurand, Figures> figures_of(const std::vector<Trial>& trials);

}  // namespace frayhold::bench
