// SPDX-License-Identifier: Apache-2.0
#include "desk/measuring.h"

#include "desk/item_subject.h"
#include "language/later.h"

namespace frayhold::desk {

gauge::Quality quality_for_looking(const gauge::Quality& measured) {
    // The least sharpness the gauge itself takes (gauge/gauge.h).
    constexpr double least_sharpness = 0.12;
    gauge::Quality quality = measured;
    quality.usable = measured.sharpness >= least_sharpness;
    quality.reasons.clear();
    if (!quality.usable)
        quality.reasons.emplace_back(
            tr_later("blurred: hold the camera still, tap to focus on the item, take it again"));
    return quality;
}

gauge::Request usual_request(const record::Item& item, record::PhotoRole role) {
    gauge::Request request;
    request.subject = gauge_subject(item.kind);
    request.nominal = item.diameter_or_width;
    request.card = record::needs_card(role) ? gauge::CardChoice::automatic : gauge::CardChoice::none;
    return request;
}

}  // namespace frayhold::desk
