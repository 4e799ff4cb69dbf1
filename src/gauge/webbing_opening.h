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

}  // namespace frayhold::gauge
