// SPDX-License-Identifier: Apache-2.0
#include "gauge/id1_search.h"

#include <catch2/catch.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_scene.h"
#include "gauge/gauge.h"
#include "gauge/outline_search.h"

namespace frayhold::gauge {
namespace {

render::Scene plain_scene(int i, double width_mm = id1_width_mm, double height_mm = id1_height_mm,
                          double radius_mm = id1_corner_radius_mm) {
    constexpr std::array<render::Colour, 4> papers{
        render::Colour{0.8F, 0.8F, 0.78F}, render::Colour{0.6F, 0.1F, 0.08F},
        render::Colour{0.03F, 0.03F, 0.04F}, render::Colour{0.1F, 0.2F, 0.6F}};
    render::Scene scene = card_scene(2000, 260 + 20 * i, 5.0 * i, 0.8 * i, 0.79 * i);
    scene.card->sort = render::Flat::Sort::plain_card;
    scene.card->width_mm = width_mm;
    scene.card->height_mm = height_mm;
    scene.card->corner_radius_mm = radius_mm;
    scene.card->paper = papers[static_cast<std::size_t>(i) % papers.size()];
    scene.card->print_seed = 3;
    scene.card->heading = 2.3 * i;
    return scene;
}

Camera camera_of(const render::Scene& scene, double u_rel) {
    Camera camera;
    camera.focal_px = scene.view.focal_px;
    camera.focal_u_rel = u_rel;
    return camera;
}

Result<Id1Finding> found_in(const render::Scene& scene, const Camera& camera) {
    const cv::Mat bgr = render::render(scene).bgr;
    return find_id1(bgr, reduced_picture(bgr), camera_prior(camera, bgr.size()));
}

// The card may as well be seen turned by half a turn.
double corner_error_px(const View& found, const render::Scene& scene) {
    render::Flat turned = *scene.card;
    turned.heading += CV_PI;
    return std::min(worst_corner_px(found, true_view(scene.view, *scene.card)),
                    worst_corner_px(found, true_view(scene.view, turned)));
}

// Whether one of the outlines is the card's, to three pixels of the reduced picture.
bool outlined(const cv::Mat& bgr, const render::Scene& scene) {
    const ReducedPicture reduced = reduced_picture(bgr);
    const OutlineSearch search(reduced);
    std::vector<Outline> outlines = search.closed();
    for (const Outline& outline : search.completed(camera_prior(camera_of(scene, 0.01), bgr.size())))
        outlines.push_back(outline);
    const View truth = true_view(scene.view, *scene.card);
    return std::any_of(outlines.begin(), outlines.end(), [&](const Outline& outline) {
        return std::all_of(id1_corners_mm.begin(), id1_corners_mm.end(), [&](cv::Point2d corner) {
            const cv::Point2d at = truth.picture_from_bench(corner);
            return std::any_of(outline.corners_px.begin(), outline.corners_px.end(),
                               [&](cv::Point2d own) { return cv::norm(own - at) < 3 * reduced.factor; });
        });
    });
}

}  // namespace

TEST_CASE("A plain card of any colour is found to half a pixel at any roll and to 35 degrees of tilt") {
    for (int i = 0; i < 8; ++i) {
        const render::Scene scene = plain_scene(i);
        const auto found = found_in(scene, camera_of(scene, 0.01));
        INFO("setting " << i);
        REQUIRE(found);
        CHECK(corner_error_px(found->fit.view, scene) < 0.5);
        CHECK(found->fit.view.tilt() * 180 / CV_PI == Approx(5.0 * i).margin(1.5));
        CHECK(found->fit.seen_fraction > 0.8);
        CHECK_FALSE(found->note.empty());
        CHECK(found->size_u_rel >= id1_size_u_rel);
    }
}

// Round-cornered, so that the shape alone must tell: a business card's two common sizes, a playing card's,
// A7.
TEST_CASE("A rectangle of another shape is refused where the focal length is known") {
    for (const cv::Size2d size :
         {cv::Size2d(85.0, 55.0), cv::Size2d(88.9, 50.8), cv::Size2d(88.9, 63.5), cv::Size2d(105.0, 74.0)})
        for (const int i : {0, 5}) {
            const render::Scene scene = plain_scene(i, size.width, size.height);
            INFO(size.width << " x " << size.height << " setting " << i);
            CHECK_FALSE(found_in(scene, camera_of(scene, 0.01)));
        }
}

TEST_CASE("A sheet of the right shape with square or widely rounded corners is refused") {
    for (const double radius_mm : {0.0, 8.0})
        for (const int i : {0, 4}) {
            const render::Scene scene = plain_scene(i, id1_width_mm, id1_height_mm, radius_mm);
            INFO("radius " << radius_mm << " setting " << i);
            CHECK_FALSE(found_in(scene, camera_of(scene, 0.01)));
        }
}

TEST_CASE("A card so far off that round and square corners look alike is not taken") {
    for (const auto& [distance_mm, taken] : {std::pair(420, true), {560, false}}) {
        render::Scene scene = plain_scene(0);
        scene.view = card_scene(2000, distance_mm, 0, 0, 0).view;
        INFO(distance_mm << " mm off");
        CHECK(found_in(scene, camera_of(scene, 0.01)).has_value() == taken);
    }
}

// 1 mm of card stays beyond the stripe; taken for the side, it would make the card 2 % narrower.
TEST_CASE(
    "A stripe printed close along a side is not taken for the side, nor measured beyond what is stated") {
    int seen = 0;
    for (int i = 0; i < 6; ++i) {
        const render::Scene scene = plain_scene(i);
        render::Rendered rendered = render::render(scene);
        const View truth = true_view(scene.view, *scene.card);
        std::vector<cv::Point> stripe;
        for (const cv::Point2d p : {cv::Point2d(2, 1), {83.6, 1}, {83.6, 5}, {2, 5}})
            stripe.emplace_back(truth.picture_from_bench(p));
        cv::fillConvexPoly(rendered.bgr, stripe, cv::Scalar(40, 200, 220), cv::LINE_AA);
        const auto found = find_id1(rendered.bgr, reduced_picture(rendered.bgr),
                                    camera_prior(camera_of(scene, 0.01), rendered.bgr.size()));
        INFO("setting " << i);
        if (!found) continue;
        ++seen;
        const View& view = found->fit.view;
        const auto measured_mm = [&](cv::Point2d from, cv::Point2d to) {
            return cv::norm(*view.bench_from_picture(truth.picture_from_bench(from)) -
                            *view.bench_from_picture(truth.picture_from_bench(to)));
        };
        constexpr double fit_u_rel = 0.001;
        const double allowed = 2 * std::hypot(found->size_u_rel, fit_u_rel);
        CHECK(measured_mm({0, 27}, {id1_width_mm, 27}) == Approx(id1_width_mm).epsilon(allowed));
        CHECK(measured_mm({43, 0}, {43, id1_height_mm}) == Approx(id1_height_mm).epsilon(allowed));
    }
    CHECK(seen >= 3);
}

// Of the same lightness as a fleece that is rough in lightness, and of hardly another hue.
TEST_CASE("A card as light as its bench is outlined by a trace of hue") {
    for (int i = 0; i < 6; ++i) {
        render::Scene scene = plain_scene(i);
        scene.bench.sort = render::BenchSort::fleece;
        scene.bench.light = {0.26F, 0.24F, 0.22F};
        scene.bench.dark = {0.14F, 0.13F, 0.12F};
        scene.card->paper = {0.16F, 0.20F, 0.19F};
        INFO("setting " << i);
        CHECK(outlined(render::render(scene).bgr, scene));
    }
}

// As lines of print, or a braid's yarns, may chance to lie round a rectangle.
TEST_CASE("A card's shape with sides that are not straight is refused") {
    for (const double off_px : {0.0, 2.0}) {
        constexpr double per_mm = 7.0, radius = id1_corner_radius_mm * per_mm;
        const cv::Point2d middle(500, 400);
        const double right = id1_width_mm * per_mm / 2, down = id1_height_mm * per_mm / 2;
        cv::Mat bgr(800, 1000, CV_8UC3, cv::Scalar::all(80));
        for (int y = 0; y < bgr.rows; ++y)
            for (int x = 0; x < bgr.cols; ++x) {
                const cv::Point2d d = cv::Point2d(x, y) - middle;
                const double wave = off_px * std::sin(x * 0.35 + y * 0.3);
                const double u = std::abs(d.x) - right + radius, v = std::abs(d.y) - down + radius;
                const double out = std::hypot(std::max(u, 0.0), std::max(v, 0.0)) +
                                   std::min(std::max(u, v), 0.0) - radius + wave;
                const double share = std::clamp(0.5 - out / 2, 0.0, 1.0);
                bgr.at<cv::Vec3b>(y, x) = cv::Vec3b::all(cv::saturate_cast<uchar>(80 + 120 * share));
            }
        Camera camera;
        camera.focal_px = 1000;
        camera.focal_u_rel = 0.03;
        INFO("off by " << off_px);
        CHECK(find_id1(bgr, reduced_picture(bgr), camera_prior(camera, bgr.size())).has_value() ==
              (off_px == 0.0));
    }
}

// Quarter circles printed across the corners of a sheet cut square: nothing but the print is round there.
TEST_CASE("Corners that are only printed round are square") {
    constexpr double per_mm = 7.0, radius_px = id1_corner_radius_mm * per_mm, half_line_px = 0.2 * per_mm;
    const auto share = [](double inside_px) { return std::clamp(0.5 + inside_px / 2, 0.0, 1.0); };
    for (const bool cut_round : {true, false}) {
        cv::Mat bgr(800, 1000, CV_8UC3);
        for (int y = 0; y < bgr.rows; ++y)
            for (int x = 0; x < bgr.cols; ++x) {
                // From where the rounding of either side begins, outward.
                const double u = std::abs(x - 500) - id1_width_mm * per_mm / 2 + radius_px,
                             v = std::abs(y - 400) - id1_height_mm * per_mm / 2 + radius_px;
                const bool corner = u > 0 && v > 0;
                const double from_arc = std::hypot(u, v) - radius_px, from_sides = std::max(u, v) - radius_px;
                const double sheet = share(cut_round && corner ? -from_arc : -from_sides);
                const double line = corner ? share(half_line_px - std::abs(from_arc)) : 0.0;
                bgr.at<cv::Vec3b>(y, x) =
                    cv::Vec3b::all(cv::saturate_cast<uchar>(80 + sheet * (130 - 110 * line)));
            }
        Camera camera;
        camera.focal_px = 1000;
        camera.focal_u_rel = 0.03;
        INFO("cut round: " << cut_round);
        CHECK(find_id1(bgr, reduced_picture(bgr), camera_prior(camera, bgr.size())).has_value() == cut_round);
    }
}

// A grating closes in more rounds of four runs than could be looked at in minutes.
TEST_CASE("A card on a grating is outlined in good time") {
    cv::Mat bgr(900, 1200, CV_8UC3, cv::Scalar::all(60));
    constexpr int pitch = 15, bar = 5;
    for (int x = 0; x < bgr.cols; x += pitch)
        cv::rectangle(bgr, {x, 0, bar, bgr.rows}, cv::Scalar::all(150), cv::FILLED);
    for (int y = 0; y < bgr.rows; y += pitch)
        cv::rectangle(bgr, {0, y, bgr.cols, bar}, cv::Scalar::all(150), cv::FILLED);
    cv::Mat turned;
    cv::warpAffine(bgr, turned, cv::getRotationMatrix2D({600, 450}, 20, 1.6), bgr.size());
    cv::rectangle(turned, {400, 300, 428, 270}, cv::Scalar(40, 60, 230), cv::FILLED);
    const std::array<cv::Point2d, 4> truth{
        cv::Point2d(399.5, 299.5), {827.5, 299.5}, {827.5, 569.5}, {399.5, 569.5}};
    const auto outlines = OutlineSearch(reduced_picture(turned)).closed();
    CHECK(std::any_of(outlines.begin(), outlines.end(), [&](const Outline& outline) {
        return std::all_of(truth.begin(), truth.end(), [&](cv::Point2d corner) {
            return std::any_of(outline.corners_px.begin(), outline.corners_px.end(),
                               [&](cv::Point2d own) { return cv::norm(own - corner) < 3; });
        });
    }));
}

TEST_CASE("Where the focal length is unknown and shapes look alike, the kind is said to be assumed") {
    int assumed = 0;
    for (const int i : {1, 3, 5}) {
        const render::Scene card = plain_scene(i), other = plain_scene(i, 85.0, 55.0);
        const auto found = found_in(card, {});
        INFO("setting " << i);
        REQUIRE(found);
        assumed += found->size_u_rel > id1_size_u_rel;
        // Another card may pass for this one, but never without saying so.
        if (const auto wrong = found_in(other, {})) {
            CHECK(wrong->size_u_rel > id1_size_u_rel);
            CHECK(wrong->note.find("taken for") != std::string::npos);
        }
    }
    CHECK(assumed > 0);
}

// The printed card is of ID-1 size too, and may be cut out with round corners or square ones.
TEST_CASE("The printed card is a plain card where it truly lies or none, and a bare bench holds none") {
    const render::Scene printed = card_scene(1600, 300, 10, 0.8, 0.5);
    if (const auto found = found_in(printed, camera_of(printed, 0.01)))
        CHECK(corner_error_px(found->fit.view, printed) < 0.5);
    render::Scene bare = printed;
    bare.card.reset();
    CHECK_FALSE(found_in(bare, camera_of(bare, 0.01)));
}

TEST_CASE("Which card is looked for can be chosen") {
    const render::Scene scene = plain_scene(2);
    const cv::Mat bgr = render::render(scene).bgr;
    Request request;
    request.camera = camera_of(scene, 0.01);
    const auto kind = [&](CardChoice choice) -> std::optional<CardKind> {
        request.card = choice;
        const auto report = measure(bgr, request);
        REQUIRE(report);
        if (!report->card) return std::nullopt;
        return report->card->kind;
    };
    CHECK(kind(CardChoice::automatic) == CardKind::id1);
    CHECK(kind(CardChoice::id1) == CardKind::id1);
    CHECK(kind(CardChoice::printed) == std::nullopt);
    CHECK(kind(CardChoice::none) == std::nullopt);
}

TEST_CASE(
    "An outline is found though its corners are round, a side is broken and another's contrast turns over") {
    cv::Mat bgr(700, 900, CV_8UC3, cv::Scalar::all(120));
    cv::rectangle(bgr, {200, 150, 480, 300}, cv::Scalar::all(200), cv::FILLED);
    cv::rectangle(bgr, {200, 380, 480, 70}, cv::Scalar::all(40), cv::FILLED);  // darker than the bench
    cv::rectangle(bgr, {400, 140, 60, 60}, cv::Scalar::all(120), cv::FILLED);  // breaks the upper side
    for (const cv::Point corner : {cv::Point(200, 150), {679, 150}, {679, 449}, {200, 449}})
        cv::circle(bgr, corner, 9, cv::Scalar::all(120), cv::FILLED);
    const auto outlines = OutlineSearch(reduced_picture(bgr)).closed();
    REQUIRE_FALSE(outlines.empty());
    const std::array<cv::Point2d, 4> truth{
        cv::Point2d(199.5, 149.5), {679.5, 149.5}, {679.5, 449.5}, {199.5, 449.5}};
    const auto is_truth = [&](const Outline& outline) {
        for (std::size_t turn = 0; turn < 4; ++turn) {
            bool all = true;
            for (std::size_t i = 0; i < 4; ++i)
                all = all && cv::norm(outline.corners_px[(i + turn) % 4] - truth[i]) < 2.5;
            if (all) return true;
        }
        return false;
    };
    CHECK(std::any_of(outlines.begin(), outlines.end(), is_truth));
}

// ID-1's proportions, square on; what the right third shows beyond its edge is as faint as the noise.
TEST_CASE("A fourth side that no run of edge shows is found where three others put it") {
    cv::Mat bgr(700, 900, CV_8UC3, cv::Scalar::all(120));
    cv::rectangle(bgr, {200, 150, 300, 303}, cv::Scalar::all(200), cv::FILLED);
    cv::rectangle(bgr, {500, 150, 181, 303}, cv::Scalar(120, 120, 190), cv::FILLED);
    cv::rectangle(bgr, {660, 160, 21, 283}, cv::Scalar(120, 120, 133), cv::FILLED);
    cv::Mat noise(bgr.size(), CV_16SC3), noisy;
    cv::RNG random(3);
    random.fill(noise, cv::RNG::NORMAL, 0, 9);
    bgr.convertTo(noisy, CV_16SC3);
    cv::Mat(noisy + noise).convertTo(bgr, CV_8UC3);
    Camera camera;
    camera.focal_px = 900;
    camera.focal_u_rel = 0.03;
    const auto outlines = OutlineSearch(reduced_picture(bgr)).completed(camera_prior(camera, bgr.size()));
    const std::array<cv::Point2d, 4> truth{
        cv::Point2d(199.5, 149.5), {680.5, 149.5}, {680.5, 452.5}, {199.5, 452.5}};
    const auto is_truth = [&](const Outline& outline) {
        return std::all_of(truth.begin(), truth.end(), [&](cv::Point2d corner) {
            return std::any_of(outline.corners_px.begin(), outline.corners_px.end(),
                               [&](cv::Point2d own) { return cv::norm(own - corner) < 4; });
        });
    };
    CHECK(std::any_of(outlines.begin(), outlines.end(), is_truth));
}

}  // namespace frayhold::gauge
