// SPDX-License-Identifier: Apache-2.0
// Prints what our own code says, for the scripts beside it to hold against an outside computation.
// Numbers come on standard input, one question a line; each answer is one line, with all digits.
#include <array>
#include <cstdint>
#include <cstdlib>
#include <functional>
#include <iostream>
#include <limits>
#include <map>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>
#include <stdexcept>
#include <string>
#include <vector>

#include "criteria/conformity.h"
#include "gauge/camera_calibration.h"
#include "gauge/card_design.h"
#include "gauge/card_fit.h"
#include "gauge/colour.h"
#include "gauge/gauge.h"
#include "gauge/measurand.h"
#include "gauge/monte_carlo.h"
#include "gauge/reading.h"
#include "gauge/student_t.h"
#include "photo/exif.h"
#include "photo/photo.h"
#include "reference/end_gauge.h"
#include "reference/impedance.h"

namespace {

namespace gauge = frayhold::gauge;
using Json = nlohmann::json;

void colour_difference() {
    gauge::Lab a;
    gauge::Lab b;
    while (std::cin >> a.L >> a.a >> a.b >> b.L >> b.a >> b.b) std::cout << gauge::ciede2000(a, b) << '\n';
}

void lab() {
    int r = 0;
    int g = 0;
    int b = 0;
    while (std::cin >> r >> g >> b) {
        const gauge::Lab lab =
            gauge::lab_of(cv::Vec3b(cv::saturate_cast<unsigned char>(b), cv::saturate_cast<unsigned char>(g),
                                    cv::saturate_cast<unsigned char>(r)));
        std::cout << lab.L << ' ' << lab.a << ' ' << lab.b << '\n';
    }
}

void student_t() {
    double dof = 0.0;
    double p = 0.0;
    while (std::cin >> dof >> p) std::cout << gauge::student_t(dof, p) << '\n';
}

// A dof of 0 stands for infinitely many.
void probability_above() {
    frayhold::Uncertain<double> y;
    double limit = 0.0;
    while (std::cin >> y.value >> y.u >> y.dof >> limit) {
        if (y.dof == 0.0) y.dof = std::numeric_limits<double>::infinity();
        std::cout << frayhold::criteria::probability_above(y, limit) << '\n';
    }
}

Json json_of(const gauge::Spread& spread) {
    return {{"mean", spread.mean},
            {"u", spread.u},
            {"symmetric", {spread.symmetric.low, spread.symmetric.high}},
            {"shortest", {spread.shortest.low, spread.shortest.high}}};
}

void end_gauge() {
    const gauge::Reading analytic = reference::end_gauge_analytic();
    const gauge::Spread drawn = reference::end_gauge_drawn();
    std::cout << Json{{"u", analytic.u}, {"dof", analytic.dof}, {"drawn", json_of(drawn)}} << '\n';
}

void impedance() {
    const reference::Impedance drawn = reference::impedance_drawn();
    std::cout << Json{{"R", json_of(drawn.resistance)},       {"X", json_of(drawn.reactance)},
                      {"Z", json_of(drawn.magnitude)},        {"r_RX", drawn.r_resistance_reactance},
                      {"r_RZ", drawn.r_resistance_magnitude}, {"r_XZ", drawn.r_reactance_magnitude}}
              << '\n';
}

// The profile from the photos named on standard input, and the corners it rests on.
void chessboard_camera() {
    std::vector<gauge::BoardSighting> sightings;
    Json corners = Json::array();
    std::string path;
    while (std::cin >> path) {
        cv::Mat grey;
        cv::cvtColor(frayhold::photo::load(path).bgr, grey, cv::COLOR_BGR2GRAY);
        const auto sighting = gauge::find_chessboard(grey, {9, 6}, 25.0);
        if (!sighting) {
            corners.push_back(nullptr);
            continue;
        }
        Json points = Json::array();
        for (std::size_t i = 0; i < sighting->picture_px.size(); ++i)
            points.push_back({sighting->board_mm[i].x, sighting->board_mm[i].y, sighting->picture_px[i].x,
                              sighting->picture_px[i].y});
        corners.push_back(points);
        sightings.push_back(*sighting);
    }
    const auto profile = frayhold::value_or_throw(gauge::calibrate(sightings));
    std::cout << Json{{"profile", Json::parse(gauge::to_json(profile))}, {"corners", corners}} << '\n';
}

// Of a camera without distortion: focal length, eight corner coordinates of an ID-1 card, then a pixel; its
// place on the bench.
void plane_view() {
    double focal = 0.0;
    std::array<cv::Point2d, 4> corners;
    cv::Point2d pixel;
    while (std::cin >> focal >> corners[0].x >> corners[0].y >> corners[1].x >> corners[1].y >>
           corners[2].x >> corners[2].y >> corners[3].x >> corners[3].y >> pixel.x >> pixel.y) {
        gauge::Camera camera;
        camera.focal_px = focal;
        camera.focal_u_rel = 0.001;
        camera.lens = gauge::Lens{};
        const auto prior = gauge::camera_prior(camera, {4032, 3024});
        const auto fit = frayhold::value_or_throw(gauge::fit_corners(corners, prior, 0.5));
        const auto bench = fit.view.bench_from_picture(pixel);
        if (!bench) throw std::runtime_error("the pixel does not see the bench");
        std::cout << bench->x << ' ' << bench->y << '\n';
    }
}

// x y width height in mm and the grey of each printed patch, later ones over earlier ones.
void card_patches() {
    for (const auto& [rect, grey] : gauge::card_patches())
        std::cout << rect.x << ' ' << rect.y << ' ' << rect.width << ' ' << rect.height << ' ' << grey
                  << '\n';
}

// The readings of the photo of that subject in that file.
void photo() {
    std::string subject, path;
    std::cin >> subject >> std::ws;
    std::getline(std::cin, path);
    const frayhold::photo::Photo taken = frayhold::photo::load(path);
    gauge::Request request;
    request.subject = subject == "rope" ? gauge::Subject::rope : gauge::Subject::webbing;
    request.camera.focal_px = frayhold::photo::focal_px_from_exif(taken.exif, taken.bgr.size());
    request.camera.focal_u_rel = frayhold::photo::exif_focal_u_rel;
    const auto report = frayhold::value_or_throw(gauge::measure(taken.bgr, request));
    Json readings = Json::array();
    for (const gauge::Reading& reading : report.readings)
        readings.push_back(
            {{"quantity", gauge::name_of(reading.measurand)}, {"value", reading.value}, {"U", reading.U}});
    std::cout << Json{{"reasons", report.quality.reasons}, {"readings", readings}} << '\n';
}

}  // namespace

int main(int argc, char** argv) {
    const std::map<std::string, std::function<void()>> questions{{"colour_difference", colour_difference},
                                                                 {"lab", lab},
                                                                 {"student_t", student_t},
                                                                 {"probability_above", probability_above},
                                                                 {"end_gauge", end_gauge},
                                                                 {"impedance", impedance},
                                                                 {"plane_view", plane_view},
                                                                 {"card_patches", card_patches},
                                                                 {"photo", photo},
                                                                 {"chessboard_camera", chessboard_camera}};
    const auto question = questions.find(argc == 2 ? argv[1] : "");
    if (question == questions.end()) {
        std::cerr << "reference_answers: the question is not known\n";
        return EXIT_FAILURE;
    }
    std::cout.precision(17);
    try {
        question->second();
    } catch (const std::exception& error) {
        std::cerr << "reference_answers: " << error.what() << '\n';
        return EXIT_FAILURE;
    }
    return EXIT_SUCCESS;
}
