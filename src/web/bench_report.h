// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <opencv2/core/types.hpp>
#include <string>
#include <vector>

#include "desk/drawn.h"
#include "desk/measuring.h"
#include "record/photo_entry.h"

// What the photo bench and its page say to each other, as JSON.
//   drawn:   {"corners": [[x,y]x4] or null, "marks": [{"kind","points","label"}], "pins": [{"at","words"}]}
//   report:  as `frayhold gauge --json`, each reading with "name" and "words" for a person ("11.03 ± 0.37
//   mm"),
//            each budget line with "words"; "hand_from": from which reading on they are those of the marks
// Points are pixels of the upright picture, origin at the centre of the top left pixel.
namespace frayhold::web {

// Throws Failure (Fault::input) where the text is of another form.
[[nodiscard]] desk::Drawn drawn_from_json(const std::string& text);
[[nodiscard]] nlohmann::json drawn_json(const desk::Drawn& drawn);
// The same Failure.
[[nodiscard]] std::vector<cv::Point2d> points_of(const nlohmann::json& list);

[[nodiscard]] nlohmann::json report_for_bench(const desk::MeasuredPhoto& measured, const desk::Drawn& drawn);
// The readings alone, while a corner moves.
[[nodiscard]] nlohmann::json followed_json(const std::vector<gauge::Reading>& readings);
// The report as it was kept with the photo.
[[nodiscard]] nlohmann::json kept_report_json(const record::PhotoEntry& entry);

}  // namespace frayhold::web
