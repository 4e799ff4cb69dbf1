// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "desk/drawn.h"
#include "record/photo_entry.h"
#include "units/date.h"
#include "units/error.h"

// What was drawn on a photo as W3C Web Annotations (Web Annotation Data Model, Recommendation of 23 February
// 2017): one AnnotationPage, one Annotation for each thing drawn.
//
// target  the photo by its hash (RFC 6920, "nih:sha-256;…") with an SvgSelector. SVG counts from the corner
// of
//         the top left pixel, Frayhold from its centre: half a pixel is added on the way out.
// body    TextualBody "classifying": what it is ("distance", "area", "glaze_length", "card", "pin");
//         "tagging": the person's words; "describing": the value with its uncertainty as it was then.
namespace frayhold::desk {

// `readings` are those of drawn.marks, in their order, as far as they could be measured.
[[nodiscard]] std::string annotation_page(const record::PhotoEntry& photo, const Drawn& drawn,
                                          const std::vector<gauge::Reading>& readings, const std::string& who,
                                          Time time);

// Back from such a page. Errors (Fault::input): no such page.
[[nodiscard]] Result<Drawn> drawn_from_annotations(const std::string& text);

}  // namespace frayhold::desk
