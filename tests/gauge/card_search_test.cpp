// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_search.h"

#include <catch2/catch.hpp>

#include "gauge/card_scene.h"

namespace frayhold::gauge {

TEST_CASE("A reduced picture averages whole blocks and knows where its pixels came from") {
    cv::Mat bgr(1503, 3001, CV_8UC3, cv::Scalar::all(0));
    // One block of 3 x 3 pixels, the block (100, 50) of the reduced picture.
    bgr(cv::Rect(300, 150, 3, 3)).setTo(cv::Scalar::all(180));
    const ReducedPicture reduced = reduced_picture(bgr);
    CHECK(reduced.factor == 3);
    CHECK(reduced.bgr.size() == cv::Size(1000, 501));
    CHECK(reduced.bgr.at<cv::Vec3b>(50, 100) == cv::Vec3b::all(180));
    CHECK(cv::sum(reduced.bgr)[0] == 180);
    CHECK(reduced.full_px({100, 50}) == cv::Point2d(301, 151));
}

TEST_CASE("A small picture is searched as it is") {
    const cv::Mat bgr(300, 400, CV_8UC3, cv::Scalar::all(90));
    CHECK(reduced_picture(bgr).factor == 1);
    CHECK(find_markers(bgr, reduced_picture(bgr)).empty());
}

TEST_CASE("All four markers are found to a few pixels, whichever way the card lies") {
    for (int i = 0; i < 6; ++i) {
        render::Scene scene = card_scene(1400, 300 + 40 * i, 5.0 * i, 1.1 * i, 0.9 * i);
        scene.card->heading = 1.3 * i;
        const cv::Mat bgr = render::render(scene).bgr;
        const View truth = true_view(scene.view, *scene.card);
        const auto found = find_markers(bgr, reduced_picture(bgr));
        INFO("setting " << i);
        CHECK(found.size() == 4);
        for (const MarkerSighting& sighting : found)
            for (const CardMarker& marker : card_markers()) {
                if (marker.id != sighting.id) continue;
                CHECK(cv::norm(sighting.corners_px[0] - truth.picture_from_bench(marker.top_left_mm)) < 3.0);
            }
    }
}

}  // namespace frayhold::gauge
