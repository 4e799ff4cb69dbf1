// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <opencv2/core/matx.hpp>
#include <vector>

#include "gauge/colour.h"

namespace frayhold::gauge {

// A box of CIELAB, `side` units wide along each axis.
class LabBoxes {
  public:
    explicit LabBoxes(int side);
    [[nodiscard]] std::size_t count() const;
    [[nodiscard]] std::size_t of(const cv::Vec3f& lab) const;
    [[nodiscard]] Lab middle(std::size_t box) const;

  private:
    int side_;
    int steps_L_;
    int steps_ab_;
};

// A few hundred colours, asked many times for the nearest one. Distances are CIEDE2000 with kL = 2. Answers
// are kept by boxes of 2 units, so that a picture costs as many comparisons as it has colours, not pixels;
// they are off by what two colours of one box differ, at most about 2. Only the four colours nearest by plain
// CIELAB distance are compared.
class ColourSet {
  public:
    explicit ColourSet(std::vector<Lab> colours);
    [[nodiscard]] bool empty() const { return colours_.empty(); }
    // Infinity for an empty set.
    [[nodiscard]] float distance(const cv::Vec3f& lab);

  private:
    [[nodiscard]] double nearest(const Lab& lab) const;

    std::vector<Lab> colours_;
    LabBoxes boxes_;
    std::vector<float> known_;  // by box; negative where not asked yet
};

}  // namespace frayhold::gauge
