// SPDX-License-Identifier: Apache-2.0
#include "gauge/camera_calibration.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>

#include "language/later.h"

namespace frayhold::gauge {
namespace {

using Json = nlohmann::json;

constexpr std::size_t least_sightings = 3;
constexpr std::size_t least_points = 8;
constexpr double largest_focal_u_rel = 0.02;
constexpr double largest_rms_share = 1.0 / 500.0;

bool lies_on_its_side(int orientation) {
    return orientation >= 5;
}

cv::Size turned(cv::Size size, int orientation) {
    return lies_on_its_side(orientation) ? cv::Size(size.height, size.width) : size;
}

// A point of the stored picture in the upright one, by Exif's orientation (CIPA DC-008, 4.6.4).
cv::Point2d upright_from_stored(cv::Point2d p, cv::Size stored, int orientation) {
    const double right = stored.width - 1 - p.x;
    const double bottom = stored.height - 1 - p.y;
    switch (orientation) {
        case 2:
            return {right, p.y};
        case 3:
            return {right, bottom};
        case 4:
            return {p.x, bottom};
        case 5:
            return {p.y, p.x};
        case 6:
            return {bottom, p.x};
        case 7:
            return {bottom, right};
        case 8:
            return {p.y, right};
        default:
            return p;
    }
}

// Turning by 6 undoes 8; every other orientation undoes itself.
cv::Point2d stored_from_upright(cv::Point2d p, cv::Size upright, int orientation) {
    const int undoing = orientation == 6 ? 8 : orientation == 8 ? 6 : orientation;
    return upright_from_stored(p, upright, undoing);
}

tl::unexpected<Error> refused(std::string what, std::string mend) {
    return failed(Fault::input, tr_later("camera calibration"), std::move(what), std::move(mend));
}

using BoardPoints = std::vector<std::vector<cv::Point3f>>;
using PicturePoints = std::vector<std::vector<cv::Point2f>>;

constexpr int inner_parameters = 5;  // focal length, centre x and y, k1, k2

struct Solution {
    double rms_px = 0.0;
    cv::Mat matrix;
    cv::Mat distortion;
    std::vector<cv::Mat> rotations;
    std::vector<cv::Mat> translations;
    cv::Mat rms_of_sightings;
};

Solution solve(const BoardPoints& board, const PicturePoints& picture, cv::Size size) {
    Solution solution;
    solution.matrix = cv::Mat::eye(3, 3, CV_64F);  // its ratio fx / fy of 1 is kept
    cv::Mat unused_deviations;
    solution.rms_px = cv::calibrateCamera(
        board, picture, size, solution.matrix, solution.distortion, solution.rotations, solution.translations,
        unused_deviations, cv::noArray(), solution.rms_of_sightings,
        cv::CALIB_FIX_ASPECT_RATIO | cv::CALIB_ZERO_TANGENT_DIST | cv::CALIB_FIX_K3,
        cv::TermCriteria(cv::TermCriteria::COUNT + cv::TermCriteria::EPS, 100, 1e-10));
    return solution;
}

// Standard uncertainties of the inner parameters, infinite where the photos can't tell them: the poses are
// eliminated from J'J by the Schur complement. OpenCV's own deviations are not used: up to 4.6 it divides the
// squares by the points instead of the coordinates, which makes them about 1.4 times too large.
cv::Matx<double, inner_parameters, 1> inner_u(const BoardPoints& board, const Solution& solution,
                                              double dof) {
    cv::Matx<double, inner_parameters, inner_parameters> normal;
    double points = 0.0;
    for (std::size_t i = 0; i < board.size(); ++i) {
        cv::Mat projected;
        cv::Mat jacobian;  // columns: 3 rotation, 3 translation, fx, fy, cx, cy, k1, k2, p1, p2, k3
        cv::projectPoints(board[i], solution.rotations[i], solution.translations[i], solution.matrix,
                          solution.distortion, projected, jacobian, 0);
        const cv::Mat pose = jacobian.colRange(0, 6);
        cv::Mat inner(jacobian.rows, inner_parameters, CV_64F);
        cv::Mat focal = jacobian.col(6) + jacobian.col(7);
        focal.copyTo(inner.col(0));
        jacobian.colRange(8, 12).copyTo(inner.colRange(1, inner_parameters));
        const cv::Mat cross = inner.t() * pose;
        const cv::Mat left = inner.t() * inner - cross * (pose.t() * pose).inv(cv::DECOMP_SVD) * cross.t();
        normal += cv::Matx<double, inner_parameters, inner_parameters>(left);
        points += static_cast<double>(board[i].size());
    }
    const double variance = solution.rms_px * solution.rms_px * points / dof;
    bool solved = false;
    const auto inverse = normal.inv(cv::DECOMP_CHOLESKY, &solved);
    cv::Matx<double, inner_parameters, 1> u;
    for (int i = 0; i < inner_parameters; ++i)
        u(i) = solved ? std::sqrt(inverse(i, i) * variance) : std::numeric_limits<double>::infinity();
    return u;
}

// Relative standard uncertainty of the image distance over the bench's range of focus.
double focus_u_rel(std::optional<double> focal_mm) {
    constexpr double phone_focal_mm = 6.0;
    constexpr double near_mm = 250.0;
    constexpr double far_mm = 700.0;
    const double half_range = focal_mm.value_or(phone_focal_mm) * (1.0 / near_mm - 1.0 / far_mm) / 2.0;
    return half_range / std::sqrt(3.0);
}

Json json_of(const Uncertain<double>& quantity) {
    return {{"value", quantity.value}, {"u", quantity.u}};
}

}  // namespace

std::optional<BoardSighting> find_chessboard(const cv::Mat& grey, cv::Size inner_corners, double square_mm) {
    // Evening out the light finds more boards but moves corners by up to half a pixel; so they are refined in
    // the picture as it is, where the grey's slopes meet in one point, in a window that stays clear of the
    // next corner.
    std::vector<cv::Point2f> corners;
    if (!cv::findChessboardCornersSB(grey, inner_corners, corners, cv::CALIB_CB_NORMALIZE_IMAGE))
        return std::nullopt;
    double spacing = std::numeric_limits<double>::infinity();
    for (std::size_t i = 1; i < corners.size(); ++i)
        spacing = std::min(spacing, cv::norm(corners[i] - corners[i - 1]));
    const int reach = std::clamp(static_cast<int>(spacing / 4.0), 3, 20);
    cv::cornerSubPix(grey, corners, {reach, reach}, {-1, -1},
                     cv::TermCriteria(cv::TermCriteria::COUNT + cv::TermCriteria::EPS, 50, 1e-4));

    BoardSighting sighting;
    sighting.upright_px = grey.size();
    for (int row = 0; row < inner_corners.height; ++row)
        for (int column = 0; column < inner_corners.width; ++column)
            sighting.board_mm.emplace_back(column * square_mm, row * square_mm);
    sighting.picture_px.assign(corners.begin(), corners.end());
    return sighting;
}

Result<CameraProfile> calibrate(std::span<const BoardSighting> sightings) {
    if (sightings.size() < least_sightings)
        return refused("too few photos show the board", "take at least 10, tilted to all sides");

    CameraProfile profile;
    profile.stored_px = turned(sightings.front().upright_px, sightings.front().orientation);
    BoardPoints board;
    PicturePoints picture;
    for (const BoardSighting& sighting : sightings) {
        if (sighting.board_mm.size() != sighting.picture_px.size() || sighting.board_mm.size() < least_points)
            return refused("a photo shows too few points of the board",
                           "show the whole board in every photo");
        if (turned(sighting.upright_px, sighting.orientation) != profile.stored_px)
            return refused("the photos are not all of one size",
                           "take all of them with one camera and setting");
        auto& board_points = board.emplace_back();
        auto& picture_points = picture.emplace_back();
        for (std::size_t i = 0; i < sighting.board_mm.size(); ++i) {
            board_points.emplace_back(static_cast<float>(sighting.board_mm[i].x),
                                      static_cast<float>(sighting.board_mm[i].y), 0.0F);
            picture_points.emplace_back(
                stored_from_upright(sighting.picture_px[i], sighting.upright_px, sighting.orientation));
        }
        profile.points += static_cast<int>(sighting.board_mm.size());
    }

    Solution solution;
    try {
        solution = solve(board, picture, profile.stored_px);
    } catch (const cv::Exception&) {
        return refused("the points seen fit no camera", "check that the board is flat and seen whole");
    }
    const double dof = 2.0 * profile.points - inner_parameters - 6.0 * static_cast<double>(sightings.size());
    const cv::Matx<double, inner_parameters, 1> u = inner_u(board, solution, dof);
    profile.focal_px = {solution.matrix.at<double>(1, 1), u(0), dof};
    profile.centre_x_px = {solution.matrix.at<double>(0, 2), u(1), dof};
    profile.centre_y_px = {solution.matrix.at<double>(1, 2), u(2), dof};
    profile.k1 = {solution.distortion.at<double>(0), u(3), dof};
    profile.k2 = {solution.distortion.at<double>(1), u(4), dof};
    profile.rms_px = solution.rms_px;
    profile.rms_of_sighting_px.assign(solution.rms_of_sightings.begin<double>(),
                                      solution.rms_of_sightings.end<double>());

    if (!(profile.focal_px.u < largest_focal_u_rel * profile.focal_px.value))
        return refused("the photos are too much alike to tell the focal length",
                       "tilt the board by 20 to 40 degrees, to all sides, in most of them");
    if (profile.rms_px > largest_rms_share * profile.stored_px.width)
        return refused("the points seen do not fit one camera and a flat board",
                       "glue the board to something flat and keep zoom and focus as they are");
    return profile;
}

bool holds_for(const CameraProfile& profile, const photo::ExifFacts& exif) {
    if (exif.make != profile.make || exif.model != profile.model || exif.lens != profile.lens) return false;
    if (exif.digital_zoom.value_or(1.0) > 1.0) return false;
    if (exif.focal_mm.has_value() != profile.focal_mm.has_value()) return false;
    return !exif.focal_mm || std::abs(*exif.focal_mm - *profile.focal_mm) <= 0.002 * *profile.focal_mm;
}

Result<Camera> camera_of(const CameraProfile& profile, cv::Size upright_px, int orientation) {
    if (turned(upright_px, orientation) != profile.stored_px)
        return failed(Fault::input, tr_later("camera profile"),
                      "the photo has another size than the profile's",
                      "give the photo as it came from the camera, not cropped or scaled");
    Camera camera;
    camera.focal_px = profile.focal_px.value;
    camera.focal_u_rel =
        std::hypot(profile.focal_px.u / profile.focal_px.value, focus_u_rel(profile.focal_mm));
    camera.centre_px = upright_from_stored({profile.centre_x_px.value, profile.centre_y_px.value},
                                           profile.stored_px, orientation);
    camera.lens = Lens{profile.k1.value, profile.k2.value};
    camera.source = std::string(tr_later("profile")) + ": " +
                    (profile.model.empty() ? std::string(tr_later("of an unnamed camera")) : profile.model);
    return camera;
}

std::string to_json(const CameraProfile& profile) {
    Json json{{"camera_profile", 1},
              {"make", profile.make},
              {"model", profile.model},
              {"lens", profile.lens},
              {"width_px", profile.stored_px.width},
              {"height_px", profile.stored_px.height},
              {"focal_px", json_of(profile.focal_px)},
              {"centre_x_px", json_of(profile.centre_x_px)},
              {"centre_y_px", json_of(profile.centre_y_px)},
              {"k1", json_of(profile.k1)},
              {"k2", json_of(profile.k2)},
              {"dof", profile.focal_px.dof},
              {"rms_px", profile.rms_px},
              {"rms_of_sighting_px", profile.rms_of_sighting_px},
              {"points", profile.points}};
    if (profile.focal_mm) json["focal_mm"] = *profile.focal_mm;
    return json.dump(2) + "\n";
}

Result<CameraProfile> profile_from_json(std::string_view text, const std::string& name) {
    std::string field;  // the one being read, for the words of an error
    const auto at = [&](const Json& object, const char* key) -> const Json& {
        field = key;
        return object.at(key);
    };
    try {
        const Json json = Json::parse(text);
        if (at(json, "camera_profile") != 1)
            return failed(Fault::input, name, "the profile is of a later form", "use a newer Frayhold");
        CameraProfile profile;
        at(json, "make").get_to(profile.make);
        at(json, "model").get_to(profile.model);
        at(json, "lens").get_to(profile.lens);
        if (json.contains("focal_mm")) profile.focal_mm = at(json, "focal_mm").get<double>();
        profile.stored_px = {at(json, "width_px").get<int>(), at(json, "height_px").get<int>()};
        const double dof = at(json, "dof").get<double>();
        const auto quantity = [&](const char* key) {
            const Json& value = at(json, key);
            return Uncertain<double>{value.at("value").get<double>(), value.at("u").get<double>(), dof};
        };
        profile.focal_px = quantity("focal_px");
        profile.centre_x_px = quantity("centre_x_px");
        profile.centre_y_px = quantity("centre_y_px");
        profile.k1 = quantity("k1");
        profile.k2 = quantity("k2");
        profile.rms_px = at(json, "rms_px").get<double>();
        at(json, "rms_of_sighting_px").get_to(profile.rms_of_sighting_px);
        profile.points = at(json, "points").get<int>();

        const bool sound = profile.focal_px.value > 0.0 && profile.focal_px.u >= 0.0 && dof > 0.0 &&
                           profile.stored_px.width > 0 && profile.stored_px.height > 0 &&
                           profile.focal_mm.value_or(1.0) > 0.0;
        if (!sound)
            return failed(Fault::input, name, "a size, focal length or uncertainty is not above zero",
                          "calibrate the camera again");
        return profile;
    } catch (const Json::parse_error&) {
        return failed(Fault::input, name, "the profile is not JSON", "calibrate the camera again");
    } catch (const Json::exception&) {
        return failed(Fault::input, name,
                      std::string(tr_later("a field is missing or not what it should be")) + ": " + field,
                      "calibrate the camera again");
    }
}

}  // namespace frayhold::gauge
