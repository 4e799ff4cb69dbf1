// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "render/centre_line.h"
#include "render/vec.h"

// A scene to be pictured, in plain values. The bench is the plane z = 0 of a right-handed frame in
// millimetres, z up, seen from above; the camera's axis meets the bench at the origin. Angles in radians
// unless the name says so.
namespace frayhold::render {

enum class SceneKind { rope, frayed_rope, core_rope, flattened_rope, webbing };
// anywhere: 250 to 700 mm from the bench. card_sixth: the card's long side is a sixth of the picture's width.
// straight_above: that too, but the camera tilted by 5 degrees at most instead of 35, and the damage about
// the middle of the picture.
enum class Framing { anywhere, card_sixth, straight_above };
enum class CardSort { printed, plain_id1, none };
enum class BenchSort { wood, fleece, concrete, table };
// What makes the picture one that must be refused.
enum class Spoil { none, motion_blur, defocus, card_missing, card_cut_off, card_under_item, glare_on_card };

// Pin-hole camera with radial distortion: x_distorted = x (1 + k1 r^2 + k2 r^4), r in normalised image
// coordinates; principal point at the middle of the picture.
struct View {
    int width_px = 4032;
    int height_px = 3024;
    double focal_35mm = 26.0;  // as the camera states it, for the 43.27 mm diagonal of a 36 x 24 mm frame
    double focal_px = 0.0;     // as it is
    double k1 = 0.0, k2 = 0.0;
    Vec3 position;              // mm
    Vec3 right, down, forward;  // unit axes of the picture in the bench's frame
};

struct Light {
    Vec3 towards;             // unit, from the bench to the key light
    double key = 1.0;         // irradiance on a surface facing the light
    double ambient = 0.4;     // irradiance from all round
    double half_angle = 0.1;  // of the key light as seen from the bench: softness of shadows
    double reach_mm = 1500;   // distance of the key light: how fast it falls off
    Colour tint{1.F, 1.F, 1.F};
    double exposure = 1.0;  // picture value (1 = clipped) of a white surface's unit radiance
    double vignette = 0.5;  // share of the cos^4 law left after the lens's own correction
    struct Band {
        double heading = 0.0, offset_mm = 0.0, half_width_mm = 30.0, softness_mm = 15.0, depth = 0.3;
    };
    std::vector<Band> bands;  // soft shadows of things out of the picture
    struct Glare {
        Vec2 middle;
        double radius_mm = 20.0, strength = 1.0;
        double stretch = 1.0, heading = 0.0;  // longer along its heading by this factor
    };
    std::vector<Glare> glares;  // reflections of the light, added to whatever lies there
};

struct Bench {
    BenchSort sort = BenchSort::wood;
    Colour light, dark;
    double heading = 0.0;
    Vec2 offset_mm;  // where in its endless pattern
    double scale = 1.0;
    double gloss = 0.0;
};

// A flat thing on the bench. Its own frame: millimetres from its top left corner, x right, y down.
struct Flat {
    enum class Sort {
        printed_card,
        plain_card,
        book,
        slab,
        paper,
        envelope,
        business_card,
        steel_rule,
        label
    };
    Sort sort = Sort::printed_card;
    Vec2 middle;
    double heading = 0.0;  // of its x axis in the bench's frame
    double width_mm = 85.60, height_mm = 53.98, corner_radius_mm = 0.0;
    double thickness_mm = 0.0;  // only to cast a shadow
    Colour paper{0.85F, 0.85F, 0.84F};
    Colour ink{0.04F, 0.04F, 0.04F};
    std::uint64_t print_seed = 1;
    double print_blur_mm = 0.03;
    std::vector<std::string> lines;
};

// A union of rounded bars: something solid and out of the way.
struct Solid {
    struct Bar {
        Vec3 a, b;
        double radius_mm = 8.0;
    };
    std::vector<Bar> bars;
    double blend_mm = 4.0;
    Colour colour;
    double gloss = 0.2;
    double texture = 0.1;
};

// A loose fibre: a quadratic Bezier curve.
struct Hair {
    Vec3 root, bend, tip;
    double thickness_mm = 0.04;
    float shade = 1.F;  // factor on the item's paler fibre colour
};

struct Tracer {
    int way = 0;  // which of the two helices
    int yarn = 0;
    Colour colour;
};

// A stretch of the item by arc length, faded in and out over `edge_mm`.
struct Stretch {
    double middle_mm = 0.0, half_length_mm = 0.0, edge_mm = 3.0;
};

struct CoreWindow {
    double middle_mm = 0.0, half_length_mm = 8.0;
    double middle_angle = 0.0, half_angle = 0.7;  // round the rope, from straight up, positive to the left
    std::uint64_t edge_seed = 1;
    Colour core{0.80F, 0.80F, 0.77F};
};

// A printed sleeve shrunk round the rope: the maker's label.
struct Sleeve {
    double middle_mm = 0.0, half_length_mm = 35.0;
    Colour paper{0.80F, 0.80F, 0.78F};
    Colour ink{0.03F, 0.03F, 0.035F};
    std::vector<std::string> lines;
};

struct Rope {
    CentreLine line;
    double diameter_mm = 11.0;
    int yarns_a_way = 16;    // in each of the two helices
    double pitch_mm = 46.0;  // of one full turn
    int float_cells = 2;     // yarns passed over at a time
    Colour sheath{0.4F, 0.05F, 0.04F};
    std::vector<Tracer> tracers;
    double soil = 0.0;
    std::optional<Stretch> fluffed;  // paler, blurred braid where it is frayed
    double fluffed_angle = 0.0;
    std::optional<CoreWindow> core;
    std::optional<Stretch> flattened;
    double flattened_share = 0.0;  // growth of the width as a share of the diameter
    std::optional<Stretch> glazed;
    std::optional<Sleeve> sleeve;
};

struct StitchRow {
    double middle_mm = 0.0;   // along the webbing
    double offset_mm = 0.0;   // across, of the row's own middle
    double length_mm = 12.0;  // across the webbing where `across`, else along it
    bool across = true;
    double amplitude_mm = 1.2, period_mm = 1.6;
    std::vector<double> gaps_mm;  // along the row from its start: where stitches are missing
    double gap_length_mm = 2.4;
};

struct Nick {
    double middle_mm = 0.0, length_mm = 4.0, depth_mm = 3.0;
    int side = 1;       // 1 left, -1 right
    double lean = 0.0;  // -1 .. 1: where the deepest point lies along the nick
};

struct Webbing {
    CentreLine line;
    double width_mm = 25.0, thickness_mm = 2.2;
    Colour base, stripe, thread;
    double stripe_width_mm = 2.0, stripe_inset_mm = 2.0;
    bool chevron = true;
    double rib_mm = 0.9;
    std::vector<StitchRow> rows;
    std::optional<Nick> nick;
    std::optional<Stretch> fluffed;
    int fluffed_side = 1;
    double soil = 0.0;
};

struct Sensor {
    double blur_px = 0.7;    // standard deviation of the lens and pixel together
    double motion_px = 0.0;  // length of a straight smear
    double motion_heading = 0.0;
    double shot = 5e-5;  // variance = shot * value + read^2, value 1 = clipped
    double read = 0.0015;
};

struct Scene {
    std::uint64_t seed = 0;
    SceneKind kind = SceneKind::rope;
    Spoil spoil = Spoil::none;
    View view;
    Light light;
    Bench bench;
    std::optional<Flat> card;
    std::vector<Flat> flats;  // below the card, in order
    std::vector<Solid> solids;
    std::optional<Rope> rope;
    std::optional<Webbing> webbing;
    double nominal_mm = 0.0;  // diameter or width as sold
    std::vector<Hair> hairs;
    Colour fibre{0.6F, 0.5F, 0.5F};
    Sensor sensor;
};

struct SceneChoice {
    int width_px = 4032;
    int height_px = 3024;
    Framing framing = Framing::anywhere;
    CardSort card = CardSort::printed;
    Spoil spoil = Spoil::none;
    bool clutter = true;
    bool decoys = false;  // things that could be taken for a card
};

// The same seed and choice give the same scene.
[[nodiscard]] Scene random_scene(std::uint64_t seed, SceneKind kind, const SceneChoice& choice = {});

}  // namespace frayhold::render
