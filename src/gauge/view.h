// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/matx.hpp>
#include <opencv2/core/types.hpp>
#include <optional>

namespace frayhold::gauge {

// How the camera saw the bench: a pin-hole with radial distortion, and its pose.
//
// Frames. bench: millimetres in the card's plane, origin at the card's own top left corner, x along its long
// side, y along its short side; height is counted from that plane towards the camera. picture: pixels of the
// upright photo. A point on a higher plane has the same x and y straight below it on the bench.
//
// The model has eight parameters, in the order of Parameters: log focal length, k1, a rotation vector
// (Rodrigues) and a translation in millimetres, both camera_from_bench. k2 and the principal point are held
// fixed. Source: Hartley & Zisserman, Multiple View Geometry, 2nd ed., ch. 6; Brown 1971 for the lens.
class View {
  public:
    static constexpr int parameter_count = 8;
    using Parameters = cv::Vec<double, parameter_count>;
    static constexpr int log_focal = 0;
    static constexpr int lens_k1 = 1;
    static constexpr int rotation = 2;
    static constexpr int translation = 5;

    View(const Parameters& parameters, cv::Point2d centre_px, double k2);

    [[nodiscard]] const Parameters& parameters() const { return parameters_; }
    [[nodiscard]] double focal_px() const { return focal_px_; }
    [[nodiscard]] double k2() const { return k2_; }
    [[nodiscard]] View with(const Parameters& parameters) const { return View(parameters, centre_px_, k2_); }

    // Where a bench point stands in the picture.
    [[nodiscard]] cv::Point2d picture_from_bench(cv::Point2d bench_mm, double height_mm = 0.0) const;

    // How the picture of bench points moves with each of the parameters.
    class Gradient;
    // Where the line of sight of a pixel meets the plane at that height. Empty where it never does
    // (a pixel above the horizon), or where the lens model cannot be inverted.
    [[nodiscard]] std::optional<cv::Point2d> bench_from_picture(cv::Point2d picture_px,
                                                                double height_mm = 0.0) const;

    // The bench in the middle of the picture, where the item usually lies. Empty where it shows none.
    [[nodiscard]] std::optional<cv::Point2d> middle_mm() const { return bench_from_picture(centre_px_); }

    // The camera's centre: bench x, y, and its height.
    [[nodiscard]] cv::Point3d camera_in_bench() const { return camera_in_bench_; }
    // Angle between the optical axis and the bench's normal, radians.
    [[nodiscard]] double tilt() const;
    [[nodiscard]] double distance_mm(cv::Point2d bench_mm) const;
    // Geometric mean of the local scale, mm per px, at a bench point.
    [[nodiscard]] double mm_per_px(cv::Point2d bench_mm, double height_mm = 0.0) const;

  private:
    Parameters parameters_;
    cv::Point2d centre_px_;
    double k2_;
    double focal_px_;
    cv::Matx33d camera_from_bench_;
    cv::Vec3d origin_in_camera_;
    cv::Point3d camera_in_bench_;
};

// Exact derivatives; that of the rotation by its vector after Gallego & Yezzi, A Compact Formula for the
// Derivative of a 3-D Rotation in Exponential Coordinates, 2015, equation 9.
class View::Gradient {
  public:
    explicit Gradient(const View& view);

    // Of a point on the bench plane, along `across` (picture pixels, unit length): one entry a parameter.
    [[nodiscard]] Parameters of(cv::Point2d bench_mm, cv::Point2d across) const;

  private:
    const View& view_;
    std::array<cv::Matx33d, 3> by_rotation_;  // of camera_from_bench
};

}  // namespace frayhold::gauge
