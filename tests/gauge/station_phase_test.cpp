// SPDX-License-Identifier: Apache-2.0
#include "gauge/station_phase.h"

#include <catch2/catch.hpp>
#include <cmath>

namespace frayhold::gauge {

TEST_CASE("fibres of the left and of the right fall into one station as often as they lie near enough",
          "[station_phase]") {
    // Eight rows to a station; a fibre on either side, five rows apart: into one station in three of eight.
    std::vector<double> left(80, -5.0), right(80, 5.0);
    const std::vector<char> all(80, 1);
    left[40] = -12.0;
    right[45] = 9.0;
    const double together = 21.0, apart = 17.0, share = 3.0 / 8;
    const WidestStation widest = widest_station(left, right, all, 8.0);
    CHECK(widest.mean == Approx(share * together + (1 - share) * apart));
    CHECK(widest.deviation == Approx((together - apart) * std::sqrt(share * (1 - share))));

    // In one row they always do; what lies elsewhere does not count.
    right[40] = 9.0;
    left[10] = -50.0;
    std::vector<char> beside = all;
    beside[10] = 0;
    CHECK(widest_station(left, right, beside, 7.3).mean == Approx(together));
    CHECK(widest_station(left, right, beside, 7.3).deviation == Approx(0.0).margin(1e-6));
}

}  // namespace frayhold::gauge
