// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "gauge/webbing_cells.h"

namespace frayhold::gauge {

// A row of stitches across the webbing, such as one of a bar tack. In rows and columns of the cells.
struct StitchRowSeen {
    int from_row = 0, to_row = 0;
    int from_column = 0, to_column = 0;
    bool plain = true;   // else only likelier than not
    int plain_gaps = 0;  // places in it with hardly any thread for about a stitch's length
    int doubtful_gaps = 0;
};

struct StitchSearch {
    std::vector<StitchRowSeen> rows;
    bool patches = false;  // thread in other shapes than rows across: not counted
};

// Thread shows as cells far from the usual colour of their column, all far in about the same way. A row is a
// band of rows, as wide as a stitch is, where such cells fill a good part of the middle of the webbing.
[[nodiscard]] StitchSearch find_stitches(const WebCells& cells);

}  // namespace frayhold::gauge
