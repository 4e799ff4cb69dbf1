// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <string>

#include "gauge/card_search.h"
#include "gauge/view_fitter.h"
#include "units/error.h"

namespace frayhold::gauge {

// A plain card taken for ID-1 (ISO/IEC 7810): a library or membership card of any colour and print.
struct Id1Finding {
    ViewFit fit;
    double size_u_rel = 0.0;  // of the card's size: wider where its kind is assumed rather than told
    std::string note;         // how it was told from other cards, in words
};

// Looks for a plain ID-1 card by its outline alone.
//
// Each outline of four straight sides is seen again in the full picture: its sides to a fraction of a pixel,
// kept clear of the rounded corners, each in the mix of colours that sets it off there; straight lines
// through them; corners where these meet. Four corners and the camera's prior are ten observations of eight
// parameters, so chi-square with two degrees of freedom tells whether a rectangle of 85.60 x 53.98 mm was
// seen; other pocket formats are put to the same test. The corners must be rounded as the standard says: a
// square-cornered sheet of the right shape is refused. A shape that another format explains clearly better is
// refused; one that it explains as well is taken, with the note and size_u_rel saying that the kind is
// assumed. What has sides that are not straight, or is too small to tell round corners from square ones, is
// refused too.
//
// A plain card looks the same turned by half a turn: its own top left is the corner from which its long side
// runs rightward in the picture (downward where it stands upright). Errors (Fault::input): nothing seen is
// surely such a card.
[[nodiscard]] Result<Id1Finding> find_id1(const cv::Mat& bgr, const ReducedPicture& reduced,
                                          const CameraPrior& prior);

}  // namespace frayhold::gauge
