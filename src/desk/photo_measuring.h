// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>

#include "criteria/advice.h"
#include "criteria/table.h"
#include "desk/measuring.h"
#include "gauge/camera.h"
#include "gauge/comparison.h"
#include "gauge/gauge.h"
#include "photo/photo.h"
#include "record/advice_entry.h"

// The real measurer: gauge, criteria and mark-up together, for every face alike.
namespace frayhold::desk {

// What the photo itself tells of its camera: the 35 mm equivalent where it is written, else nothing.
[[nodiscard]] gauge::Camera camera_from_exif(const photo::Photo& photo);

// Measures the photo, weighs the readings and, where asked for and measured, draws the marked-up JPEG.
// Throws Failure (Fault::usage or input) for a request that contradicts itself.
[[nodiscard]] MeasuredPhoto measure_photo(const photo::Photo& photo, const gauge::Request& request,
                                          const criteria::Table& table, const criteria::About& about,
                                          bool draw_marks);

// One measured photo as JSON text (RFC 8259), numbers unrounded: lengths in mm, areas in mm², positions in
// pixels of the upright picture with the origin at the centre of the top left pixel. What is not known is
// null; an infinite number of degrees of freedom is null. against: what has changed since an earlier photo.
[[nodiscard]] std::string report_json(const photo::Photo& photo, const gauge::Report& report,
                                      std::span<const record::AdviceEntry> advice,
                                      const gauge::Comparison* against = nullptr);

// What has changed since an earlier photo of the same place, which is measured as the later one is, but for
// what was picked by hand in that. Throws Failure (Fault::input) where it cannot be measured.
[[nodiscard]] gauge::Comparison compare_photos(const photo::Photo& earlier, const std::string& earlier_name,
                                               const gauge::Request& request, const gauge::Report& later);

}  // namespace frayhold::desk
