// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "gauge/reading.h"

// Readings as a person sees them, alike on every face.
namespace frayhold::gauge {

// "11.03 ± 0.37 mm": U with two significant digits and the value to the same place (JCGM 100:2008, 7.2.6); no
// decimals are shown beyond a thousandth. There is no way to get the value without its U.
[[nodiscard]] std::string value_words(const Reading& reading);

}  // namespace frayhold::gauge
