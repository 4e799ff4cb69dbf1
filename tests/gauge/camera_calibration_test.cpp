// SPDX-License-Identifier: Apache-2.0
#include "gauge/camera_calibration.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <random>
#include <string>
#include <vector>

#include "gauge/card_design.h"
#include "photo/turned.h"

namespace {

using frayhold::gauge::BoardSighting;
using frayhold::gauge::calibrate;
using frayhold::gauge::Camera;
using frayhold::gauge::camera_of;
using frayhold::gauge::CameraProfile;

// A camera of known geometry: 4000 x 3000, about a 28 mm-equivalent.
const cv::Size stored(4000, 3000);
const cv::Matx33d matrix{3050, 0, 2012, 0, 3050, 1489, 0, 0, 1};
const cv::Vec<double, 5> distortion{0.09, -0.17, 0, 0, 0};

std::vector<cv::Point2d> chessboard_mm() {
    std::vector<cv::Point2d> points;
    for (int row = 0; row < 6; ++row)
        for (int column = 0; column < 9; ++column) points.emplace_back(column * 20.0, row * 20.0);
    return points;
}

std::vector<cv::Point2d> card_mm() {
    using frayhold::gauge::marker_side_mm;
    std::vector<cv::Point2d> points;
    for (const auto& marker : frayhold::gauge::card_markers())
        for (const cv::Point2d corner :
             {cv::Point2d(0, 0), cv::Point2d(1, 0), cv::Point2d(1, 1), cv::Point2d(0, 1)})
            points.push_back(marker.top_left_mm + corner * marker_side_mm);
    return points;
}

// Photos of a board from all sides, tilted by up to 35 degrees, with normal noise on each coordinate.
std::vector<BoardSighting> photos(const std::vector<cv::Point2d>& board, int count, double noise_px,
                                  double distance_mm, std::mt19937_64& random, double largest_tilt = 0.6) {
    std::vector<cv::Point3d> flat;
    cv::Point3d middle;
    for (const cv::Point2d& p : board) {
        flat.emplace_back(p.x, p.y, 0.0);
        middle += flat.back() / static_cast<double>(board.size());
    }
    std::normal_distribution noise(0.0, noise_px);
    std::uniform_real_distribution share(-1.0, 1.0);
    std::vector<BoardSighting> sightings;
    for (int i = 0; i < count; ++i) {
        const double side = i * 2.4;
        const double tilt = largest_tilt * (0.7 + 0.3 * share(random));
        const cv::Vec3d rotation(tilt * std::cos(side), tilt * std::sin(side), 0.3 * share(random));
        cv::Matx33d turn;
        cv::Rodrigues(rotation, turn);
        const cv::Vec3d at(0.15 * distance_mm * share(random), 0.1 * distance_mm * share(random),
                           distance_mm);
        const cv::Vec3d translation = at - turn * cv::Vec3d(middle.x, middle.y, 0.0);
        std::vector<cv::Point2d> seen;
        cv::projectPoints(flat, rotation, translation, matrix, distortion, seen);
        for (cv::Point2d& p : seen) p += cv::Point2d(noise(random), noise(random));
        sightings.push_back({seen, board, stored, 1});
    }
    return sightings;
}

TEST_CASE("Perfect sightings of a chessboard give the camera back") {
    std::mt19937_64 random(1);
    const auto profile = calibrate(photos(chessboard_mm(), 8, 0.0, 330.0, random));
    REQUIRE(profile);
    // Points are handed to the solver as 32-bit floats: at 4000 px their last digit is 0.0002 px.
    CHECK(profile->focal_px.value == Approx(3050).epsilon(1e-6));
    CHECK(profile->centre_x_px.value == Approx(2012).margin(0.005));
    CHECK(profile->centre_y_px.value == Approx(1489).margin(0.005));
    CHECK(profile->k1.value == Approx(0.09).margin(1e-5));
    CHECK(profile->k2.value == Approx(-0.17).margin(1e-4));
    CHECK(profile->rms_px < 0.001);
    CHECK(profile->points == 8 * 54);
}

TEST_CASE("The stated uncertainties are those of the noise") {
    // Sixty cameras calibrated from noisy photos: (value - truth) / u has a standard deviation of 1; over 60
    // draws the sample's own lies within 0.75 and 1.27 in 99 % (chi-squared, 60 degrees of freedom).
    std::mt19937_64 random(2);
    constexpr int cameras = 60;
    double focal = 0.0;
    double centre = 0.0;
    double k1 = 0.0;
    double k2 = 0.0;
    for (int i = 0; i < cameras; ++i) {
        const auto profile = calibrate(photos(chessboard_mm(), 6, 0.3, 330.0, random));
        REQUIRE(profile);
        focal += std::pow((profile->focal_px.value - 3050) / profile->focal_px.u, 2) / cameras;
        centre += std::pow((profile->centre_x_px.value - 2012) / profile->centre_x_px.u, 2) / cameras;
        k1 += std::pow((profile->k1.value - 0.09) / profile->k1.u, 2) / cameras;
        k2 += std::pow((profile->k2.value + 0.17) / profile->k2.u, 2) / cameras;
        CHECK(profile->rms_px == Approx(0.3 * std::sqrt(2.0)).epsilon(0.15));
    }
    for (const double variance : {focal, centre, k1, k2}) {
        CHECK(std::sqrt(variance) > 0.75);
        CHECK(std::sqrt(variance) < 1.27);
    }
}

TEST_CASE("The printed card will do as a board") {
    std::mt19937_64 random(3);
    const auto profile = calibrate(photos(card_mm(), 12, 0.1, 180.0, random));
    REQUIRE(profile);
    CHECK(std::abs(profile->focal_px.value - 3050) < 3 * profile->focal_px.u);
    CHECK(std::abs(profile->centre_x_px.value - 2012) < 3 * profile->centre_x_px.u);
    CHECK(profile->focal_px.u < 0.01 * 3050);
}

TEST_CASE("The inner corners of a drawn chessboard are found to a tenth of a pixel") {
    constexpr int square = 80;
    cv::Mat board(8 * square + 2 * square, 11 * square + square, CV_8U, cv::Scalar(235));
    for (int row = 0; row < 7; ++row)
        for (int column = 0; column < 10; ++column)
            if ((row + column) % 2 == 0)
                board(cv::Rect((column + 1) * square, (row + 1) * square, square, square)) = 20;
    const cv::Matx33d bench_to_picture{0.85, -0.21, 160, 0.18, 0.9, 30, 1.5e-4, -8e-5, 1};
    cv::GaussianBlur(board, board, {}, 1.5);  // before sampling, so that no edge is torn into steps
    cv::Mat picture;
    cv::warpPerspective(board, picture, bench_to_picture, {1000, 900}, cv::INTER_CUBIC, cv::BORDER_CONSTANT,
                        235);
    const auto sighting = frayhold::gauge::find_chessboard(picture, {9, 6}, 25.0);
    REQUIRE(sighting);
    REQUIRE(sighting->picture_px.size() == 54);
    CHECK(sighting->upright_px == picture.size());
    CHECK(sighting->board_mm.back() == cv::Point2d(200.0, 125.0));

    std::vector<cv::Point2d> truth;
    for (const cv::Point2d& mm : sighting->board_mm)
        truth.emplace_back((mm.x / 25.0 + 2) * square - 0.5, (mm.y / 25.0 + 2) * square - 0.5);
    cv::perspectiveTransform(truth, truth, bench_to_picture);
    // The board looks the same turned by half a turn, but for its colours; either start is right.
    const bool turned = cv::norm(truth.front() - sighting->picture_px.front()) > square;
    for (std::size_t i = 0; i < truth.size(); ++i)
        CHECK(cv::norm(truth[turned ? truth.size() - 1 - i : i] - sighting->picture_px[i]) < 0.1);

    CHECK_FALSE(frayhold::gauge::find_chessboard(cv::Mat(300, 400, CV_8U, cv::Scalar(128)), {9, 6}, 25.0));
}

TEST_CASE("Photos that can't tell the camera are refused, with what to do") {
    std::mt19937_64 random(4);
    const auto refusal = [](const std::vector<BoardSighting>& sightings) {
        const auto profile = calibrate(sightings);
        return profile ? std::string("not refused") : profile.error().what;
    };
    auto good = photos(chessboard_mm(), 5, 0.2, 330.0, random);
    CHECK(refusal(good) == "not refused");
    CHECK(refusal({}) == "too few photos show the board");
    CHECK(refusal({good[0], good[1]}) == "too few photos show the board");
    CHECK(refusal(photos(chessboard_mm(), 5, 0.2, 330.0, random, 0.0)) ==
          "the photos are too much alike to tell the focal length");
    CHECK(refusal(photos(chessboard_mm(), 5, 20.0, 330.0, random)) != "not refused");

    auto short_list = good;
    short_list[1].picture_px.pop_back();
    CHECK(refusal(short_list) == "a photo shows too few points of the board");
    auto other_size = good;
    other_size[2].upright_px = {3000, 4000};
    CHECK(refusal(other_size) == "the photos are not all of one size");
    auto scattered = good;
    for (auto& sighting : scattered)
        std::shuffle(sighting.picture_px.begin(), sighting.picture_px.end(), random);
    CHECK(refusal(scattered) != "not refused");
}

// A profile with a principal point well off the middle, to see it turn.
CameraProfile sample_profile() {
    CameraProfile profile;
    profile.make = "Ashmeer Optical";
    profile.model = "Bench One";
    profile.lens = "6 mm";
    profile.focal_mm = 6.0;
    profile.stored_px = {40, 30};
    profile.focal_px = {30.0, 0.03, 250.0};
    profile.centre_x_px = {7.0, 0.2, 250.0};
    profile.centre_y_px = {4.0, 0.3, 250.0};
    profile.k1 = {0.1, 0.01, 250.0};
    profile.k2 = {-0.2, 0.02, 250.0};
    profile.rms_px = 0.31;
    profile.rms_of_sighting_px = {0.30, 0.32};
    profile.points = 108;
    return profile;
}

TEST_CASE("The principal point turns with the picture as the photo decoder turns it") {
    for (int orientation = 1; orientation <= 8; ++orientation) {
        CAPTURE(orientation);
        cv::Mat picture(30, 40, CV_8UC3, cv::Scalar::all(0));
        picture.at<cv::Vec3b>(4, 7) = {255, 255, 255};
        const cv::Mat upright = frayhold::photo::turned(picture, orientation);
        cv::Mat grey;
        cv::extractChannel(upright, grey, 0);
        cv::Point spot;
        cv::minMaxLoc(grey, nullptr, nullptr, nullptr, &spot);
        const auto camera = camera_of(sample_profile(), upright.size(), orientation);
        REQUIRE(camera);
        CHECK(camera->centre_px == cv::Point2d(spot));
        CHECK(camera->focal_px == 30.0);
        CHECK(camera->lens->k2 == -0.2);
        CHECK(camera->source == "profile: Bench One");
    }
    CHECK_FALSE(camera_of(sample_profile(), {40, 30}, 6));
    CHECK_FALSE(camera_of(sample_profile(), {80, 60}, 1));
}

TEST_CASE("Photos held in different ways calibrate to one camera") {
    std::mt19937_64 random(5);
    auto sightings = photos(chessboard_mm(), 8, 0.0, 330.0, random);
    for (std::size_t i = 0; i < sightings.size(); i += 2) {
        // As a phone held upright tells it: orientation 6, so the upright point is (bottom, x).
        sightings[i].orientation = 6;
        sightings[i].upright_px = {stored.height, stored.width};
        for (cv::Point2d& p : sightings[i].picture_px) p = {stored.height - 1 - p.y, p.x};
    }
    const auto profile = calibrate(sightings);
    REQUIRE(profile);
    CHECK(profile->stored_px == stored);
    CHECK(profile->focal_px.value == Approx(3050).epsilon(1e-6));
    CHECK(profile->centre_x_px.value == Approx(2012).margin(0.005));
}

TEST_CASE("The focal length's uncertainty includes what focusing changes") {
    // Thin lens, 6 mm: the image distance is 1.0240 f at 250 mm and 1.0086 f at 700 mm; rectangular: 0.0154 /
    // sqrt 12.
    const auto camera = camera_of(sample_profile(), {40, 30}, 1);
    const double focusing = (6.0 / 250.0 - 6.0 / 700.0) / std::sqrt(12.0);
    CHECK(camera->focal_u_rel == Approx(std::hypot(0.001, focusing)).epsilon(1e-9));
}

TEST_CASE("A profile holds for photos of its own camera only") {
    const CameraProfile profile = sample_profile();
    frayhold::photo::ExifFacts exif;
    exif.make = "Ashmeer Optical";
    exif.model = "Bench One";
    exif.lens = "6 mm";
    exif.focal_mm = 6.001;
    CHECK(holds_for(profile, exif));
    exif.digital_zoom = 1.0;
    CHECK(holds_for(profile, exif));
    exif.digital_zoom = 2.0;
    CHECK_FALSE(holds_for(profile, exif));
    exif.digital_zoom = {};
    exif.focal_mm = 6.1;
    CHECK_FALSE(holds_for(profile, exif));
    exif.focal_mm = {};
    CHECK_FALSE(holds_for(profile, exif));
    exif.focal_mm = 6.0;
    exif.model = "Bench Two";
    CHECK_FALSE(holds_for(profile, exif));
}

TEST_CASE("A profile goes to JSON and back without losing a digit") {
    CameraProfile profile = sample_profile();
    profile.k1.value = 1.0 / 3.0;
    const auto back = frayhold::gauge::profile_from_json(to_json(profile), "p.json");
    REQUIRE(back);
    CHECK(to_json(*back) == to_json(profile));
    CHECK(back->k1.value == 1.0 / 3.0);
    CHECK(back->focal_px.dof == 250.0);
    CHECK(back->stored_px == cv::Size(40, 30));
    CHECK(back->focal_mm == 6.0);
    profile.focal_mm = {};
    CHECK_FALSE(frayhold::gauge::profile_from_json(to_json(profile), "p.json")->focal_mm);
}

TEST_CASE("A damaged profile is refused with the field's name") {
    const auto refusal = [](std::string text) {
        const auto profile = frayhold::gauge::profile_from_json(text, "p.json");
        REQUIRE_FALSE(profile);
        CHECK(profile.error().where == "p.json");
        return profile.error().what;
    };
    const std::string good = to_json(sample_profile());
    const auto with = [&](const std::string& from, const std::string& to) {
        std::string text = good;
        REQUIRE(text.find(from) != std::string::npos);
        return text.replace(text.find(from), from.size(), to);
    };
    CHECK(refusal("{") == "the profile is not JSON");
    CHECK(refusal("[]") == "a field is missing or not what it should be: camera_profile");
    CHECK(refusal(with("\"camera_profile\": 1", "\"camera_profile\": 2")) ==
          "the profile is of a later form");
    CHECK(refusal(with("\"k1\"", "\"k9\"")) == "a field is missing or not what it should be: k1");
    CHECK(refusal(with("\"points\": 108", "\"points\": \"many\"")) ==
          "a field is missing or not what it should be: points");
    CHECK(refusal(with("\"value\": 30.0", "\"value\": -30.0")) ==
          "a size, focal length or uncertainty is not above zero");
    CHECK(refusal(with("\"width_px\": 40", "\"width_px\": 0")) ==
          "a size, focal length or uncertainty is not above zero");
}

}  // namespace
