// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

namespace frayhold::gauge {

// Follows single fibres outward from the item, though each may be fainter than the bench's own texture.
//
// Track before detect (Barniv 1985; Viterbi 1967): no place is judged alone. A path starts at the item and
// goes outward column by column, at one of eleven slopes, the slope changing by one at most from column to
// column as a fibre bends. It gains the line evidence at its place and slope less a toll, times the length
// stepped; of all paths to a place the one with most gain is kept. The toll is never less than two fifths of
// the path's own evidence of late, for a fibre keeps its thickness: a bold one ends at its tip and is not
// prolonged by chance marks beyond. A path is dropped once it has lost more than a gap's worth from its best;
// a fibre is a path whose gain passes that of a plain length.
//
// Evidence is how far the mean along a short line stands above that of the lines to both its sides, in units
// of its scatter on the bare bench for that slope: along the grain of wood the scatter is large and counts
// for little.
class FibreTracing {
  public:
    // signal: CV_32F, one row a row of the strip; larger where more like a fibre; the item painted over.
    // calm: CV_8U, 1 where the bench is bare: neither item nor fibres nor card.
    FibreTracing(const cv::Mat& signal, const cv::Mat& calm, double mm_per_px);

    // roots: CV_8U, as signal: where fibres may start (the item, and the mass of fibres). first_column: of
    // the item's edge, one a row. side: -1 left, +1 right. toll: in standard deviations. rows: the part to
    // look at. Gives the outermost column that a fibre reaches in each of those rows; first_column where none
    // does.
    [[nodiscard]] std::vector<int> outermost(const cv::Mat& roots, const std::vector<int>& first_column,
                                             int side, double toll, cv::Range rows) const;

    // Scatter of the signal along a short line on the bare bench, over all slopes: what a fibre must stand
    // out from.
    [[nodiscard]] double scatter() const { return scatter_; }
    // Evidence for a line of unit signal times pixels across, blurred by blur_px, in units of signal.
    [[nodiscard]] static double response(double blur_px);

  private:
    std::vector<cv::Mat> evidence_;  // one a slope, transposed: a row a column of the strip
    double mm_per_px_;
    double scatter_ = 1.0;
};

}  // namespace frayhold::gauge
