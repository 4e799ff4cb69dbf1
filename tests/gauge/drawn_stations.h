// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <functional>
#include <opencv2/core.hpp>

#include "gauge/station_light.h"

namespace frayhold::gauge {

// What is drawn at one place of a station: light, and how rough, by a log-normal law.
struct DrawnLook {
    cv::Vec3d light;
    double roughness = 0.0;
    double roughness_scatter = 0.0;  // of its logarithm
};

// Stations all alike but for chance, all of them seen: `middle` columns to either side of the strip's middle.
inline StationLight drawn_stations(int stations, int middle, double mm_per_px, cv::RNG random,
                                   const std::function<DrawnLook(double across_mm, cv::RNG&)>& look_at) {
    StationLight light;
    const int columns = 2 * middle + 1;
    light.mean.create(stations, columns, CV_32FC3);
    light.seen = cv::Mat::ones(stations, columns, CV_32F);
    light.roughness.create(stations, columns, CV_32F);
    for (int s = 0; s < stations; ++s)
        for (int c = 0; c < columns; ++c) {
            const DrawnLook look = look_at((c - middle) * mm_per_px, random);
            light.mean.at<cv::Vec3f>(s, c) = look.light;
            light.roughness.at<float>(s, c) =
                static_cast<float>(look.roughness * std::exp(random.gaussian(look.roughness_scatter)));
        }
    return light;
}

}  // namespace frayhold::gauge
