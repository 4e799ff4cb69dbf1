// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>

#include "render/demo_scenes.h"
#include "render/render.h"

namespace frayhold::render {

// The head of demo-photos/manifest.json, with an empty list "photos".
[[nodiscard]] nlohmann::ordered_json manifest_head();
// One photo's entry: what it shows, what is expected of the gauge, and every true value.
[[nodiscard]] nlohmann::ordered_json manifest_entry(const DemoPhoto& photo, const Truth& truth);

}  // namespace frayhold::render
