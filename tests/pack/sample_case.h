// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "record/case_file.h"

// A whole case of the invented outfit, with every kind of entry a pack can hold.
namespace frayhold::pack::test {

[[nodiscard]] record::CaseFile sample_case();

// A rope-like picture of the size as a JPEG.
[[nodiscard]] std::vector<std::byte> sample_picture(int width_px, int height_px, int seed);

}  // namespace frayhold::pack::test
