// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <optional>
#include <vector>

#include "gauge/sound_edges.h"
#include "gauge/strip.h"
#include "gauge/strip_edges.h"

namespace frayhold::gauge {

// How much of the bench the loose fibres hide, station by station.
//
// Light mixes by area: a place hidden to the share p shows bench + p (fibre - bench), in linear light. What
// the bench would show is read from the same column of the neighbouring stations (running median), which
// takes the item's shadow along. The share is the estimate of least variance over the three colours (Fisher
// 1936; Aitken 1935): weights C^-1 step / (step' C^-1 step), C the scatter of the bare bench over 1 mm cells.
struct FibreCover {
    cv::Mat share;  // CV_32F, one row a station, columns as the strip's; about 0 on bare bench, 1 where all
                    // is hidden
    cv::Vec3d bench, fibre;  // their light, linear BGR: of the fibres that show
    cv::Vec3d sheath_fibre;  // of a fibre of the sheath's commonest colour, which may be the bench's own
    double scatter = 0.0;    // standard deviation of `share` over 1 mm cells of the bare bench
    std::vector<char>
        stirred;  // stations where fibres show beside either edge: a cheap test, meant to let nothing through
};

// Empty where too little bench is seen.
[[nodiscard]] std::optional<FibreCover> fibre_cover(const Strip& strip, const StationLight& light,
                                                    const SoundEdges& sound);

// Next to the edge the blur mixes the item itself into what the bench usually shows, in the deepest of its
// shadow, and fibres change it less than they hide: the share is believed from here outward.
inline constexpr double clear_of_blur_mm = 0.75;

// Outward from the sound edge (side -1 left, +1 right) to where the share over a cell of 1 mm x 0.25 mm falls
// to `share`.
[[nodiscard]] double dense_edge_mm(const FibreCover& cover, const Strip& strip, std::size_t station,
                                   double sound_mm, double side, double share);

}  // namespace frayhold::gauge
