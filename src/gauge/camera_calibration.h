// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "gauge/camera.h"
#include "photo/photo.h"
#include "units/error.h"
#include "units/uncertain.h"

// A camera's own geometry from photos of a flat board whose points are known: a chessboard or the printed
// card.
//
// Model: the pin-hole of gauge/camera.h with one focal length (square pixels), a principal point, k1 and k2;
// no tangential terms. Solved by least squares over all points and poses (Zhang, IEEE PAMI 22 (2000)
// 1330-1334, as in OpenCV's calibrateCamera). Standard uncertainties are those of the fit: sqrt of the
// diagonal of s^2 (J'J)^-1, with s from the residuals. They assume independent point errors and a flat board;
// a curled print breaks that and shows in rms_px. Take the photos at the distance at which gear is measured:
// a lens that focuses nearer moves out.
namespace frayhold::gauge {

// One photo of the board: where its known points were seen.
struct BoardSighting {
    std::vector<cv::Point2d> picture_px;  // upright picture
    std::vector<cv::Point2d> board_mm;    // one for each of picture_px, on the flat board
    cv::Size upright_px;                  // size of the upright picture
    int orientation = 1;                  // Exif's, which was applied to make it upright
};

// The inner corners of a chessboard, to sub-pixel. Empty where the whole board isn't seen. `grey` is CV_8U.
// `inner_corners` counts corners between squares: a board of 10 x 7 squares has 9 x 6.
[[nodiscard]] std::optional<BoardSighting> find_chessboard(const cv::Mat& grey, cv::Size inner_corners,
                                                           double square_mm);

// A camera, lens, focal length and picture size as calibrated. Pixels of the picture as the sensor stores it,
// before it is turned upright.
struct CameraProfile {
    std::string make;
    std::string model;
    std::string lens;
    std::optional<double> focal_mm;  // as Exif tells it
    cv::Size stored_px;
    Uncertain<double> focal_px;
    Uncertain<double> centre_x_px;
    Uncertain<double> centre_y_px;
    Uncertain<double> k1;
    Uncertain<double> k2;
    double rms_px = 0.0;                     // of the distances between seen and modelled points
    std::vector<double> rms_of_sighting_px;  // one for each photo: a bad one stands out
    int points = 0;
};

// Needs at least 3 sightings of at least 8 points of one stored size. The camera's names are left empty.
// Errors (Fault::input): too few sightings or points, unequal sizes or lists, photos too much alike to tell
// the focal length (its relative standard uncertainty is above 2 %), a fit whose rms is above 1/500 of the
// picture's width.
[[nodiscard]] Result<CameraProfile> calibrate(std::span<const BoardSighting> sightings);

// Whether the photo was taken by this camera, lens, focal length, and without digital zoom.
[[nodiscard]] bool holds_for(const CameraProfile& profile, const photo::ExifFacts& exif);

// The camera of one upright photo. The relative uncertainty of the focal length adds to the fit's own what
// focusing between 250 and 700 mm changes: the image distance is f (1 + f / d) (thin lens), taken as
// rectangular between the two; with an unknown focal_mm as for a 6 mm lens, common in phones. Errors
// (Fault::input): the photo's size isn't the profile's (cropped or scaled).
[[nodiscard]] Result<Camera> camera_of(const CameraProfile& profile, cv::Size upright_px, int orientation);

// As JSON text, and back. Errors (Fault::input) name the field; `name` is that of the file, for their words.
[[nodiscard]] std::string to_json(const CameraProfile& profile);
[[nodiscard]] Result<CameraProfile> profile_from_json(std::string_view text, const std::string& name);

}  // namespace frayhold::gauge
