// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/types.hpp>
#include <vector>

#include "gauge/camera.h"
#include "gauge/gauge.h"

namespace frayhold::gauge {

// The readings while a person moves a corner of the card: what was found in the picture stays as it is, and
// only the view changes. Each value follows by its gradient over the view's parameters,
//   y' = y + g . (p' - p),
// the first term of its Taylor series: an area or length is smooth in the view, so that what is left out
// grows with the square of the move (under 0.1 % of the value for a move of 1 % of the card's length; the
// test holds it). u and U stay those of `base`. It takes a millisecond where measuring anew takes a hundred;
// once the corner rests, measure() says what counts. Errors (Fault::input): the corners are not a card seen
// from above; `base` has no card.
[[nodiscard]] Result<std::vector<Reading>> followed(const Report& base, const Camera& camera,
                                                    cv::Size picture,
                                                    const std::array<cv::Point2d, 4>& corners_px);

}  // namespace frayhold::gauge
