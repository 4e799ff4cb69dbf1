// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "render/jpeg_writer.h"
#include "render/scene.h"

namespace frayhold::render {

// One demo photo of the invented Korrel Tree Crew.
struct DemoPhoto {
    std::string file;         // "arbolane-fray-near-side.jpg"
    std::string item;         // own mark and what it is
    std::string subject;      // "rope" or "webbing"
    std::string view;         // which piece of evidence it is
    std::string shows;        // what there is to be seen, in words
    std::string expectation;  // "measured", "refused" or "record_only"
    std::string why;          // why refused, or what is expected of the measurement
    Scene scene;
    ExifToWrite exif;
    int quality = 76;
};

[[nodiscard]] std::vector<DemoPhoto> demo_photos();

}  // namespace frayhold::render
