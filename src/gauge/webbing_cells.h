// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <vector>

#include "gauge/webbing_edges.h"

namespace frayhold::gauge {

// The webbing and a margin of bench, averaged in linear light over cells of about a quarter of a millimetre
// and laid between its sound edges: row r along the webbing; columns from the left margin over the webbing to
// the right margin, counted from the left edge in the left half and from the right edge in the right half.
//
// Colours are log light turned so that the first part is lightness, the other two hue: a shadow changes the
// first only. On the webbing they are what differs from the usual colour of that column, slow changes of
// light along it taken out.
struct WebCells {
    cv::Mat colour;       // CV_32FC3
    cv::Mat bare_colour;  // CV_32FC3, nothing taken out
    cv::Mat light;        // CV_32FC3, linear blue, green, red
    cv::Mat seen;         // CV_8U: 1 where the picture has all of the cell and the card does not lie
    int margin = 0;       // columns of bench on either side
    int across = 0;       // columns on the webbing, even
    double cell_mm = 0.0;
    int pixels = 1;                // strip rows a cell
    std::vector<cv::Vec3f> usual;  // of each column on the webbing
    cv::Matx33d web_covariance;    // of `colour` on the webbing, without rare marks

    [[nodiscard]] double strip_row(double cell_row) const { return (cell_row + 0.5) * pixels - 0.5; }
};

[[nodiscard]] WebCells web_cells(const WebEdges& web);

// Cells of one side, counted inward from its edge; negative ones lie on the bench.
class WebSide {
  public:
    WebSide(const WebCells& cells, double side) : cells_(cells), side_(side) {}
    [[nodiscard]] int rows() const { return cells_.colour.rows; }
    [[nodiscard]] int margin() const { return cells_.margin; }
    [[nodiscard]] int column(int inward) const {
        return side_ < 0 ? cells_.margin + inward : cells_.colour.cols - 1 - cells_.margin - inward;
    }
    [[nodiscard]] cv::Vec3d bare(int row, int inward) const {
        return cells_.bare_colour.at<cv::Vec3f>(row, column(inward));
    }
    [[nodiscard]] cv::Vec3d light(int row, int inward) const {
        return cells_.light.at<cv::Vec3f>(row, column(inward));
    }
    [[nodiscard]] cv::Vec3d unusual(int row, int inward) const {
        return cells_.colour.at<cv::Vec3f>(row, column(inward));
    }

    [[nodiscard]] bool seen(int row, int inward) const {
        return cells_.seen.at<uchar>(row, column(inward)) != 0;
    }

  private:
    const WebCells& cells_;
    double side_;
};

}  // namespace frayhold::gauge
