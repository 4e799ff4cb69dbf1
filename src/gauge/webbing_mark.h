// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>

namespace frayhold::gauge {

// How deep what is no plain webbing leads on inward, without a break, from some rows at some depth. Seen
// aslant, or with broken ends in it, a narrow cut shows no bench, but a dark line, a shaded face or pale
// ends: unlike bench and webbing both. Gives the depth to which it leads, in cells.
//   bench_against_web   log ratio of likelihoods, rows x inward, strongly negative on plain webbing
//   from, to            rows to begin with, at `depth`
[[nodiscard]] int mark_leads_to(const cv::Mat& bench_against_web, int from, int to, int depth);

}  // namespace frayhold::gauge
