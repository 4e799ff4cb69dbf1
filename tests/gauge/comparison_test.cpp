// SPDX-License-Identifier: Apache-2.0
#include "gauge/comparison.h"

#include <catch2/catch.hpp>
#include <opencv2/core.hpp>

#include "gauge/card_scene.h"
#include "gauge/measured.h"
#include "render/scene.h"

namespace frayhold::gauge {
namespace {

render::Scene frayed(std::uint64_t seed) {
    render::SceneChoice choice;
    choice.width_px = 2016;
    choice.height_px = 1512;
    choice.framing = render::Framing::card_sixth;
    return render::random_scene(seed, render::SceneKind::frayed_rope, choice);
}

}  // namespace

TEST_CASE("One rope from two places is matched by its weave, and nothing seems to have changed") {
    const render::Scene scene = frayed(6);
    render::Scene again = scene;
    again.view = frayed(106).view;
    const Report earlier = measured(scene), later = measured(again);
    REQUIRE(earlier.profile);
    REQUIRE(later.profile);
    const Comparison comparison = compare(earlier, later);
    REQUIRE(comparison.alignment);
    const bool turned_about = comparison.alignment->turned;
    // The stations that are said to be one place are one place on the bench.
    const double radius_mm = earlier.profile->baseline_mm / 2;
    const auto place = [&](const render::Scene& seen, const Report& report, double station_mm) {
        const auto& stations = report.profile->station_mm;
        const auto at = std::lower_bound(stations.begin(), stations.end(), station_mm) - stations.begin();
        const auto i = std::min(static_cast<std::size_t>(at), stations.size() - 1);
        return *true_view(seen.view, *seen.card).bench_from_picture(report.profile->centre_px[i], radius_mm);
    };
    int looked_at = 0;
    for (double at = 0; at < later.profile->station_mm.back(); at += 20) {
        double before = at - comparison.alignment->shift_mm;
        if (turned_about) before = earlier.profile->station_mm.back() - before;
        if (before < 0 || before > earlier.profile->station_mm.back()) continue;
        CHECK(cv::norm(place(again, later, at) - place(scene, earlier, before)) < 8.0);
        ++looked_at;
    }
    CHECK(looked_at > 5);
    CHECK(comparison.alignment->overlap_mm > 100);
    REQUIRE_FALSE(comparison.changes.empty());
    for (const Change& change : comparison.changes) {
        INFO(name_of(change.measurand));
        REQUIRE(change.change);
        CHECK_FALSE(change.is_plain());
        CHECK(change.change->u == Approx(std::hypot(change.before->u, change.after->u)));
    }
    // A picture turned by half a turn shows the item end for end.
    Report turned = later;
    std::reverse(turned.profile->centre_px.begin(), turned.profile->centre_px.end());
    cv::rotate(later.profile->look, turned.profile->look, cv::ROTATE_180);
    const Comparison other_way = compare(earlier, turned);
    REQUIRE(other_way.alignment);
    CHECK(other_way.alignment->turned == !turned_about);
}

TEST_CASE("Another rope is not taken for the same, and what only one photo shows is said so") {
    Report earlier = measured(frayed(6));
    const Report other = measured(frayed(10));
    const Comparison comparison = compare(earlier, other);
    CHECK_FALSE(comparison.alignment);
    CHECK(comparison.remark.find("only if they are") != std::string::npos);

    std::erase_if(earlier.readings, [](const Reading& r) { return r.measurand != Measurand::sound_width; });
    Report later = other;
    later.readings.clear();
    later.readings.push_back(combine(Measurand::local_width, 12.0, {{"by itself", 0.1}}));
    const Comparison one_sided = compare(earlier, later);
    REQUIRE(one_sided.changes.size() == 2);
    CHECK(one_sided.changes[0].measurand == Measurand::local_width);
    CHECK_FALSE(one_sided.changes[0].before);
    CHECK_FALSE(one_sided.changes[0].change);
    CHECK(one_sided.changes[1].measurand == Measurand::sound_width);
    CHECK_FALSE(one_sided.changes[1].after);
}

TEST_CASE("A change beyond its uncertainty is plain, one within is not") {
    Report earlier, later;
    earlier.readings.push_back(combine(Measurand::fray_width, 20.0, {{"all of it", 0.3}}));
    later.readings.push_back(combine(Measurand::fray_width, 21.1, {{"all of it", 0.4}}));
    later.readings.push_back(combine(Measurand::distance, 5.0, {{"the hand's pick", 0.1}}));
    Comparison comparison = compare(earlier, later);
    REQUIRE(comparison.changes.size() == 1);  // a distance drawn by hand may be of anything
    REQUIRE(comparison.changes[0].change);
    CHECK(comparison.changes[0].change->value == Approx(1.1));
    CHECK(comparison.changes[0].change->U == Approx(1.0));
    CHECK(comparison.changes[0].is_plain());
    later.readings[0] = combine(Measurand::fray_width, 20.9, {{"all of it", 0.4}});
    comparison = compare(earlier, later);
    CHECK_FALSE(comparison.changes[0].is_plain());
}

}  // namespace frayhold::gauge
