// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "gauge/gauge.h"
#include "photo/photo.h"
#include "record/item.h"
#include "record/photo_entry.h"

namespace frayhold::desk {

// A photo for a hold and how to measure it.
struct PhotoOrder {
    std::vector<std::byte> bytes;  // the original file, as it came from the camera
    std::string file_name;
    record::PhotoRole role = record::PhotoRole::close_up;
    // Left empty: subject and nominal size follow from the item; a label or whole item is looked at without a
    // card.
    std::optional<gauge::Request> request;
};

// What measuring made of a photo.
struct MeasuredPhoto {
    gauge::Report report;
    std::string report_json;  // as `frayhold gauge --json` gives it
    std::vector<record::AdviceEntry> advice;
    std::vector<std::byte> markup;  // the marked-up picture; empty where none is made
};

// Measures a decoded photo and draws its mark-up. The real one stands on gauge and criteria; a test brings
// its own.
using PhotoMeasurer = std::function<MeasuredPhoto(const photo::Photo&, const PhotoOrder&,
                                                  const gauge::Request&, const record::Item&)>;

// Whether a photo that is only looked at (a label, the whole item) serves: it needs no card, and must be
// sharp.
[[nodiscard]] gauge::Quality quality_for_looking(const gauge::Quality& measured);

// What to ask of the gauge for such a photo of such an item where the person gave no request.
[[nodiscard]] gauge::Request usual_request(const record::Item& item, record::PhotoRole role);

}  // namespace frayhold::desk
