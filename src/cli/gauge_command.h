// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cli/session.h"
#include "gauge/gauge.h"
#include "photo/photo.h"

namespace CLI {
class App;
}

namespace frayhold::cli {

// The options that say how one photo is to be measured: those of `gauge`, and of `photo add`.
struct MeasuringOptions {
    std::string subject;
    std::string nominal;
    std::string card = "auto";
    std::string corners;
    std::string rule;
    std::string focal_px;
    std::string camera_profile;
    std::string level = "bench";
    std::vector<std::string> distances;
    std::vector<std::string> areas;
    std::vector<std::string> glazes;

    // Whether anything was said that does not follow from the item alone.
    [[nodiscard]] bool any_given() const;
};

[[nodiscard]] std::shared_ptr<MeasuringOptions> add_measuring_options(CLI::App& command,
                                                                      bool subject_required);

// The request without a camera. Throws Failure (Fault::usage) naming the option.
[[nodiscard]] gauge::Request request_of(const MeasuringOptions& options);

// What is known of the camera: the profile named, else the focal length given, else the photo's own facts.
[[nodiscard]] gauge::Camera camera_of(const MeasuringOptions& options, const photo::Photo& photo);

void add_gauge_command(CLI::App& app, Session& session);

}  // namespace frayhold::cli
