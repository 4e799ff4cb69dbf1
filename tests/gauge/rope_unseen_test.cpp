// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <catch2/catch.hpp>

#include "measured.h"

namespace frayhold::gauge {
namespace {

bool says(const Report& report, const std::string& words) {
    return std::any_of(report.remarks.begin(), report.remarks.end(),
                       [&](const std::string& remark) { return remark.find(words) != std::string::npos; });
}

}  // namespace

TEST_CASE("what of a rope's width cannot be told is said") {
    render::SceneChoice choice;
    choice.framing = render::Framing::anywhere;
    const Report report = measured(render::random_scene(32002, render::SceneKind::flattened_rope, choice));
    CHECK(says(report, "edges are not clear, so that no width is read there"));
    CHECK(says(report, "too uneven in this photo to tell a change of width of less than"));
}

TEST_CASE("a rope with clear edges all along has nothing said of them") {
    const Report report = measured(render::random_scene(7, render::SceneKind::rope, {}));
    REQUIRE(report.profile);
    CHECK_FALSE(says(report, "edges are not clear"));
    CHECK_FALSE(says(report, "too uneven"));
}

}  // namespace frayhold::gauge
