// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

#include "render/camera_view.h"
#include "render/light_field.h"
#include "render/scene.h"

namespace frayhold::render {

// Draws the loose fibres over a linear-light picture (CV_32FC3, red green blue). Each covers of a pixel
// exactly its area there (position within a pixel to a quarter of one); nothing where the depth picture
// (CV_32FC1) is nearer.
void draw_hairs(const Scene& scene, const Projection& projection, const LightField& light,
                const cv::Mat& depth, cv::Mat& picture);

}  // namespace frayhold::render
