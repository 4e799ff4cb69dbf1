// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "gauge/gauge.h"
#include "render/render.h"
#include "render/scene.h"

namespace frayhold::gauge {

// A rendered scene as a camera's photo is measured: its focal length known to 2 % from EXIF.
inline Report measured(const render::Scene& scene) {
    Request request;
    request.camera.focal_px = scene.view.focal_px;
    request.camera.focal_u_rel = 0.02;
    request.camera.source = "EXIF";
    return value_or_throw(measure(render::render(scene).bgr, request));
}

}  // namespace frayhold::gauge
