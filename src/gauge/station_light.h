// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <string>
#include <vector>

#include "gauge/strip.h"

namespace frayhold::gauge {

// The strip averaged along the item over stations of 1 mm.
struct StationLight {
    cv::Mat mean;  // CV_32FC3 linear BGR, one row a station, columns as the strip's
    cv::Mat seen;  // CV_32F, share of the station's pixels that can be used, 0 to 1
    // Empty where the mean alone was asked for:
    cv::Mat luminance_and_colour;  // CV_32FC3: linear luminance (Rec. 709); Cb, Cr (ITU-T T.871), -0.5 to 0.5
    cv::Mat roughness;             // CV_32F: standard deviation of luma within the station over its mean
    std::vector<double> row;       // the strip row at each station's middle
    std::vector<double> along_mm;  // from the strip's first row

    // From one station to the next.
    [[nodiscard]] double station_mm() const { return along_mm.size() > 1 ? along_mm[1] - along_mm[0] : 1.0; }
    [[nodiscard]] double rows_a_station() const {
        return row.size() > 1 ? row[1] - row[0] : 1.0;
    }  // of the strip
};
enum class StationDetail { all, mean_only };
[[nodiscard]] StationLight station_light(const Strip& strip, StationDetail detail = StationDetail::all);

// A remark and between which of its stations along the item it holds: "…; along the rope: 208 – 231 mm".
[[nodiscard]] std::string with_place(const std::string& words, const StationLight& light, std::size_t first,
                                     std::size_t last);

// Linear light of one station at 12 places between its two edges, clear of them: at even angles of a round
// item, or at even distances across a flat one. One row, CV_32FC3.
enum class Section { round, flat };
[[nodiscard]] cv::Mat look_across(const Strip& strip, const StationLight& light, std::size_t station,
                                  double left_mm, double right_mm, Section section);

}  // namespace frayhold::gauge
