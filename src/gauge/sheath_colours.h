// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

#include "gauge/even_strip.h"
#include "gauge/palette.h"

namespace frayhold::gauge {

// What the undamaged rope looks like: the colours of sheath and tracer yarns that recur along it. A colour
// recurs when it is in at least a fifth of the 10 mm pieces, over at least half of the rope; so a place of
// core that was not known to be damaged does not teach its colour.
struct SheathColours {
    Palette palette;  // of all the rope
    std::vector<float>
        from_sheath;  // by colour of the palette: CIEDE2000 (kL = 2) to the nearest recurring colour
    double foreign_from = 0.0;  // a difference above this is foreign to the sheath
    Lab mean;

    // Towards white, in linear light, from the sheath's mean colour (0) to white paper (1). Fluffed fibres
    // scatter white light on top of their own colour and so move along this line. CV_32F.
    cv::Mat whiteness;
    // Nearer to white than to the sheath, with no more colour than soiled undyed fibre. CV_8U.
    cv::Mat pale;
    // How much of the sheath's own colour is left, in linear light: 1 on the sheath and under a sheen, which
    // adds white to it; 0 where another, colourless surface lies in its place. CV_32F; empty for a sheath
    // with hardly any colour.
    cv::Mat own_colour;
    bool as_pale_as_core = false;  // the sheath itself looks like undyed fibre

    [[nodiscard]] std::size_t colour_at(int row, int column) const {
        return static_cast<std::size_t>(palette.index.at<int>(row, column));
    }
};

// What has no more colour than soiled undyed fibre, is foreign to the sheath, and goes so far towards white
// that blurred edges of tracers begin: core in a light that evening out took for the sheath's, among other
// things. CV_8U.
[[nodiscard]] cv::Mat hardly_pale(const SheathColours& sheath);

// `white`: linear light of white paper in the same light, 0 to 1.
[[nodiscard]] SheathColours learn_sheath(const EvenStrip& strip, double white);

}  // namespace frayhold::gauge
