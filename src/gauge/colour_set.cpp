// SPDX-License-Identifier: Apache-2.0
#include "gauge/colour_set.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

namespace frayhold::gauge {
namespace {

// sRGB stays within these bounds of a* and b*; L* is taken a little beyond white, for pixels brightened
// afterwards.
constexpr int largest_L = 128;
constexpr int largest_ab = 128;
constexpr int box_side = 2;

}  // namespace

LabBoxes::LabBoxes(int side) : side_(side), steps_L_(largest_L / side), steps_ab_(2 * largest_ab / side) {}

std::size_t LabBoxes::count() const {
    return static_cast<std::size_t>(steps_L_) * static_cast<std::size_t>(steps_ab_) *
           static_cast<std::size_t>(steps_ab_);
}

std::size_t LabBoxes::of(const cv::Vec3f& lab) const {
    const auto step = [&](float value, int steps) {
        return static_cast<std::size_t>(std::clamp(static_cast<int>(value) / side_, 0, steps - 1));
    };
    const auto ab = static_cast<std::size_t>(steps_ab_);
    return (step(lab[0], steps_L_) * ab + step(lab[1] + largest_ab, steps_ab_)) * ab +
           step(lab[2] + largest_ab, steps_ab_);
}

Lab LabBoxes::middle(std::size_t box) const {
    const auto ab = static_cast<std::size_t>(steps_ab_);
    const auto at = [&](std::size_t step) { return (static_cast<double>(step) + 0.5) * side_; };
    return {at(box / (ab * ab)), at(box / ab % ab) - largest_ab, at(box % ab) - largest_ab};
}

ColourSet::ColourSet(std::vector<Lab> colours)
    : colours_(std::move(colours)), boxes_(box_side), known_(boxes_.count(), -1.0F) {}

float ColourSet::distance(const cv::Vec3f& lab) {
    const std::size_t box = boxes_.of(lab);
    if (known_[box] < 0.0F) known_[box] = static_cast<float>(nearest(boxes_.middle(box)));
    return known_[box];
}

double ColourSet::nearest(const Lab& lab) const {
    constexpr double far = std::numeric_limits<double>::infinity();
    std::array<std::pair<double, const Lab*>, 4> best{
        {{far, nullptr}, {far, nullptr}, {far, nullptr}, {far, nullptr}}};
    for (const Lab& colour : colours_) {
        const double L = (colour.L - lab.L) / 2.0;
        const double a = colour.a - lab.a;
        const double b = colour.b - lab.b;
        const double squared = L * L + a * a + b * b;
        if (squared >= best.back().first) continue;
        best.back() = {squared, &colour};
        for (std::size_t i = best.size() - 1; i > 0 && best[i].first < best[i - 1].first; --i)
            std::swap(best[i], best[i - 1]);
    }
    double smallest = far;
    for (const auto& [squared, colour] : best)
        if (colour != nullptr) smallest = std::min(smallest, ciede2000(lab, *colour, 2.0));
    return smallest;
}

}  // namespace frayhold::gauge
