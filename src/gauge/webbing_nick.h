// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "gauge/webbing_cells.h"

namespace frayhold::gauge {

// A nick: bench seen where webbing should be, from the edge line inward.
struct WebNick {
    double side = 1.0;      // -1 in the left edge, 1 in the right
    double from_row = 0.0;  // of the strip, where it leaves the edge line
    double to_row = 0.0;
    double deepest_row = 0.0;
    double depth_mm = 0.0;    // on the bench plane
    double depth_u_mm = 0.0;  // standard uncertainty of where the cut closes
    double length_u_mm = 0.0;
};

// How the sides of a cut show.
struct CutSides {
    double place_u_mm = 0.0;  // standard uncertainty of where a side lies in its blur
    // How wide the face of one is seen, aslant: of the one at earlier rows where positive, of the one at
    // later rows where negative.
    double face_mm = 0.0;
    double blur_mm = 0.0;  // standard deviation
};

struct NickSearch {
    std::optional<WebNick> deepest;
    int others = 0;
    // False where webbing and bench look too much alike, or what was traced is not read.
    bool can_tell = true;
};

// Every cell is weighed as webbing against bench (log ratio of two normal distributions with a few strays
// each; a shadow may darken the bench). Along each row the border lies where the sum from the edge inward is
// largest, rows tied together by a small price on every step of the border (dynamic programming). A cut
// closes to a point finer than a pixel: its depth is that of the blurred wedge which explains best how much
// bench each cell shows (webbing_opening.h). Not read is what may as well be no nick, what is hardly
// deeper than grooves of the weave that come again all along the edge, glare, and what runs along most of it.
[[nodiscard]] NickSearch find_nick(const WebCells& cells, const CutSides& sides);

}  // namespace frayhold::gauge
