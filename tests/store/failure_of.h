// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <catch2/catch.hpp>

#include "units/error.h"

namespace frayhold::testing {

// The error of what must fail; a test that goes on without one fails. Each error names where and what to do.
template <class Action>
Error failure_of(const Action& action) {
    try {
        action();
    } catch (const Failure& failure) {
        CHECK_FALSE(failure.error().what.empty());
        CHECK_FALSE(failure.error().mend.empty());
        CHECK(failure.error().sentence().find('\n') == std::string::npos);
        return failure.error();
    }
    FAIL("nothing failed");
    return {};
}

}  // namespace frayhold::testing
