// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "gauge/webbing_cells.h"

namespace frayhold::gauge {

// Where the nick lies at one depth, in cells along the webbing.
struct Opening {
    double from = 0.0;
    double to = 0.0;
    double face = 0.0;  // taken for a shaded face of the cut, but as much like shaded bench
};

// How far a nick that was traced from one row to another is open at one depth: from the row in its middle
// outward to where less than half of a cell is bench, cells about the border counted by their share of it. A
// loose fibre across the nick does not end it. Empty where webbing and bench are too much alike there.
//   face_cells   how wide the face of one of the nick's sides is seen, in cells: that of the side at earlier
//                rows where positive, of the one at later rows where negative
[[nodiscard]] std::optional<Opening> opening_at(const WebSide& side, int depth, int from, int to, int middle,
                                                double face_cells);

// A nick as a wedge, in cells: its sides leave the edge line at two rows and meet at a point.
struct Wedge {
    double from = 0.0;
    double to = 0.0;
    double point_row = 0.0;
    double depth = 0.0;
};

struct FittedWedge {
    Wedge wedge;
    double depth_u = 0.0;  // standard uncertainties by what the wedge leaves unexplained
    double length_u = 0.0;
};

// The wedge that explains best what share of each cell is bench, from close to `start` on: near its point a
// nick is narrower than the blur, so that no cell of it is mostly bench, but their shares still add up. Cells
// that fit no wedge, as where a fibre crosses it, count little. Empty where webbing and bench are too much
// alike or the wedge runs off.
//   blur_cells   standard deviation of the blur
//   deepest      cells inward that are looked at
//   face_cells   as above
//   say_of_less  weight of a cell with less bench than the wedge, of one with more being 1. Ragged ends and
//                loose fibres across a cut hide bench, and nothing shows bench where webbing is: with less
//                than 1 the cut may close where its sides lead that are seen, though its point be hidden
[[nodiscard]] std::optional<FittedWedge> fit_wedge(const WebSide& side, const Wedge& start, double blur_cells,
                                                   int deepest, double face_cells, double say_of_less);

}  // namespace frayhold::gauge
