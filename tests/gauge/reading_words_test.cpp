// SPDX-License-Identifier: Apache-2.0
#include "gauge/reading_words.h"

#include <catch2/catch.hpp>

using frayhold::gauge::Measurand;
using frayhold::gauge::Reading;

namespace {

std::string words(double value, double U, Measurand measurand = Measurand::sound_width) {
    Reading reading;
    reading.measurand = measurand;
    reading.value = value;
    reading.U = U;
    return frayhold::gauge::value_words(reading);
}

}  // namespace

// JCGM 100:2008, 7.2.6: at most two significant digits of U, the value rounded to match. Expected texts by
// hand.
TEST_CASE("a reading is shown with two significant digits of its U") {
    CHECK(words(11.0312, 0.3749) == "11.03 ± 0.37 mm");
    CHECK(words(11.0312, 3.749) == "11.0 ± 3.7 mm");
    CHECK(words(11.0312, 0.0996) == "11.03 ± 0.10 mm");
    CHECK(words(11.0312, 0.0994) == "11.031 ± 0.099 mm");
    CHECK(words(11.0312, 0.00012) == "11.031 ± 0.000 mm");
    CHECK(words(1234.5, 99.6, Measurand::fray_area) == "1234 ± 100 mm²");
    CHECK(words(1234.5, 412.0, Measurand::area) == "1234 ± 412 mm²");
    CHECK(words(0.1249, 0.021, Measurand::nick_share) == "0.125 ± 0.021");
    CHECK(words(3.0, 0.0, Measurand::stitch_rows) == "3 ± 0");
    CHECK(words(-0.012, 0.05) == "-0.012 ± 0.050 mm");
}

TEST_CASE("a measurand is named in plain words") {
    CHECK(frayhold::gauge::words_for(Measurand::fray_dense_width) == "fray dense width");
}
