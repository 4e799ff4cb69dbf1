// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

#include "gauge/strip.h"

namespace frayhold::gauge {

// The strip averaged along the item over stations of 1 mm.
struct StationLight {
    cv::Mat mean;  // CV_32FC3 linear BGR, one row a station, columns as the strip's
    cv::Mat
        luminance_and_colour;  // CV_32FC3: linear luminance (Rec. 709); Cb and Cr (ITU-T T.871), -0.5 to 0.5
    cv::Mat roughness;         // CV_32F: standard deviation of luma within the station over its mean
    cv::Mat seen;              // CV_32F, share of the station's pixels that can be used, 0 to 1
    std::vector<double> row;   // the strip row at each station's middle
    std::vector<double> along_mm;  // from the strip's first row

    // From one station to the next.
    [[nodiscard]] double station_mm() const { return along_mm.size() > 1 ? along_mm[1] - along_mm[0] : 1.0; }
};
[[nodiscard]] StationLight station_light(const Strip& strip);

// Linear light of one station at 12 places between its two edges, clear of them: at even angles of a round
// item, or at even distances across a flat one. One row, CV_32FC3.
enum class Section { round, flat };
[[nodiscard]] cv::Mat look_across(const Strip& strip, const StationLight& light, std::size_t station,
                                  double left_mm, double right_mm, Section section);

// Where the item ends on either side at one station: millimetres across the strip on the bench plane, left
// negative. NaN where no edge is seen.
struct StationEdges {
    double left = 0.0;
    double right = 0.0;
};

// Looks for both edges near +-half_width_mm at every station, good to some tenths of a millimetre.
// What reaches from 3 mm within the places tried to 3 mm beyond is parted at each place into two, each taken
// as one normal distribution of log light and roughness over a few stations; kept is the most likely border
// of two such (least sum of log determinants: Zhu & Yuille 1996, region competition, in one dimension).
// Shading and shadow stretch a distribution along lightness only, so a limb that fades into its own shadow is
// still told by its hue, and a braid from a bench of its own hue by its roughness.
[[nodiscard]] std::vector<StationEdges> find_edges(const Strip& strip, const StationLight& light,
                                                   double half_width_mm);

// Median over a window of +-reach entries, NaN entries left out; NaN where all are.
[[nodiscard]] std::vector<double> running_median(const std::vector<double>& values, int reach);

}  // namespace frayhold::gauge
