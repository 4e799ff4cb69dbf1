// SPDX-License-Identifier: Apache-2.0
#include "units/error.h"

#include <catch2/catch.hpp>
#include <string>

namespace {

using frayhold::Error;
using frayhold::failed;
using frayhold::Failure;
using frayhold::Fault;
using frayhold::Result;
using frayhold::value_or_throw;

TEST_CASE("An error is one sentence: where, what, mend") {
    CHECK(Error{Fault::input, "the file ends in the middle of the picture", "rope.jpg",
                "copy it from the camera again"}
              .sentence() ==
          "rope.jpg: the file ends in the middle of the picture; copy it from the camera again");
    CHECK(Error{Fault::outside, "the disk is full", "", "make room"}.sentence() ==
          "the disk is full; make room");
    CHECK(Error{Fault::outside, "the disk is full", "store", ""}.sentence() == "store: the disk is full");
}

TEST_CASE("The fault is the exit code of the command line") {
    CHECK(static_cast<int>(Fault::usage) == 2);
    CHECK(static_cast<int>(Fault::input) == 3);
    CHECK(static_cast<int>(Fault::refused) == 4);
    CHECK(static_cast<int>(Fault::outside) == 5);
}

TEST_CASE("A failure carries its error and says its sentence") {
    const Failure failure(Fault::refused, "hold 7", "no verdict is given", "give one");
    CHECK(failure.error().fault == Fault::refused);
    CHECK(failure.error().where == "hold 7");
    CHECK(std::string(failure.what()) == "hold 7: no verdict is given; give one");
}

TEST_CASE("A result becomes its value or throws its error") {
    CHECK(value_or_throw(Result<int>(3)) == 3);
    const Result<int> bad = failed(Fault::usage, "--card", "'paper' is not known", "use printed or id1");
    REQUIRE_FALSE(bad);
    CHECK(bad.error().mend == "use printed or id1");
    CHECK_THROWS_AS(value_or_throw(bad), Failure);
    CHECK_THROWS_WITH(value_or_throw(bad), "--card: 'paper' is not known; use printed or id1");
}

}  // namespace
