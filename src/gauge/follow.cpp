// SPDX-License-Identifier: Apache-2.0
#include "gauge/follow.h"

#include "gauge/card_fit.h"
#include "language/later.h"

namespace frayhold::gauge {

Result<std::vector<Reading>> followed(const Report& base, const Camera& camera, cv::Size picture,
                                      const std::array<cv::Point2d, 4>& corners_px) {
    if (!base.view)
        return failed(Fault::input, tr_later("card"), "no card was found before",
                      "set all four corners first");
    const auto fit = fit_corners(corners_px, camera_prior(camera, picture), corner_pick_u_px);
    if (!fit) return tl::make_unexpected(fit.error());
    const View::Parameters step = fit->view.parameters() - base.view->parameters();
    std::vector<Reading> readings = base.readings;
    for (Reading& reading : readings)
        for (std::size_t i = 0; i < reading.view_gradient.size(); ++i)
            reading.value += reading.view_gradient[i] * step[static_cast<int>(i)];
    return readings;
}

}  // namespace frayhold::gauge
