// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core.hpp>
#include <vector>

#include "gauge/station_light.h"
#include "gauge/strip.h"

// Which border along webbing is its edge: a stripe's border is as straight, and so is a shadow's.
namespace frayhold::gauge {

// What every column looks like on the mean along the whole strip: two hues, log roughness and log lightness.
struct ColumnLooks {
    static constexpr int parts = 4;
    using Look = cv::Vec<double, parts>;
    std::vector<Look> mean;
    std::vector<Look> square;   // sums over single stations
    std::vector<double> count;  // stations seen
};
[[nodiscard]] ColumnLooks column_looks(const Strip& strip, const StationLight& light);

// The columns of a stretch across the strip, from one distance from its middle to another.
[[nodiscard]] std::vector<std::size_t> columns_between(const Strip& strip, double from_mm, double to_mm);

struct OutermostEdge {
    double at_mm = 0.0;
    bool told = false;  // hue or roughness tell bench from webbing there
};

// Webbing has stripes, and a stripe's border is as straight as the edge; so is a shadow's. The edge on one
// side is where the outermost columns unlike the bench end, half-way down from the plainest just within, or
// where those end that look as the webbing between its stripes does. It lies inside the border found only if
// what is between them is like the bench, as a shadow is: else that is webbing much like the bench. Distances
// are outward.
[[nodiscard]] OutermostEdge outermost_edge(const Strip& strip, const ColumnLooks& looks, double found_mm,
                                           double side);

// How far out from the strip's middle each edge runs.
struct WebBorders {
    double left_mm = 0.0;
    double right_mm = 0.0;
    [[nodiscard]] double width_mm() const { return left_mm + right_mm; }
};

constexpr double stripe_mm = 0.7;  // a border so much farther out is another one

// In the full picture stripes narrower than the reduced one shows are told from the edge, and ribs are seen.
[[nodiscard]] WebBorders outermost_borders(const Strip& strip, const StationLight& light, double width_mm);

}  // namespace frayhold::gauge
