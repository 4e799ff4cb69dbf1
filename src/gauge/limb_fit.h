// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstddef>
#include <opencv2/core/mat.hpp>
#include <opencv2/core/matx.hpp>
#include <optional>
#include <vector>

namespace frayhold::gauge {

// Where the limb of a round, shaded item ends against the bench.
//
// A rope darkens towards its limb and stands on its own shadow, so the steepest change of light is often not
// the edge. The model instead: along a short line across the limb, light is
//     inside,  depth d:      a + b sin(phi) + c cos(phi),  sin(phi) = 1 - d / radius   (a Lambert cylinder
//     under any
//                            mix of one distant light and light from all round; Horn, Robot Vision, 1986, ch.
//                            10)
//     outside, distance e:   a' + b' e + c' e^2                                         (bench and soft
//     shadow)
// both cut off at the edge and blurred. For each place tried, the six coefficients of each channel follow by
// least squares; the place kept is the most likely one when the channels' residuals to either side of it have
// an unknown 3 x 3 covariance of their own (least sum of log determinants, each weighed by its samples;
// Seber, Multivariate Observations, 1984, 8.3). Braid and shadow vary mostly in lightness, so what differs in
// hue speaks loudest, without a weight set by hand. And a braid is rough where a bench, the more so in
// shadow, is smooth: one covariance for both would trade a clear edge against that roughness, and take the
// border of the rope's own shaded side for the limb.
//
// Channels: linear luminance, which the lens alone blurs, and the two colour differences as JPEG and HEIC
// store them (ITU-T T.871: Cb, Cr), which they halve in both directions, a further blur of one pixel's
// standard deviation: the mean over two pixels (variance 1/4) and the triangle that brings it back (3/4).
//
// Not for an edge with loose fibres: nothing in the model stands for them.
class LimbFit {
  public:
    // How much of a line is looked at to either side of the expected edge.
    struct Window {
        double inside_mm = 2.1;
        double outside_mm = 2.1;
    };

    // spacing_mm: between samples. blur_mm: standard deviation of the lens's blur. pixel_mm: one pixel of the
    // photo. radius_mm: of the item.
    LimbFit(double spacing_mm, double blur_mm, double pixel_mm, double radius_mm, Window window);
    LimbFit(double spacing_mm, double blur_mm, double pixel_mm, double radius_mm)
        : LimbFit(spacing_mm, blur_mm, pixel_mm, radius_mm, Window{}) {}

    // Samples a line needs, and the place of sample i, outward from the expected edge.
    [[nodiscard]] int samples() const { return samples_; }
    [[nodiscard]] double outward_mm(int i) const { return (i - inside_samples_) * spacing_mm_; }

    struct Edge {
        double outward_mm = 0.0;  // from the expected place, within +-reach_mm
        // How much likelier the place is than the median of those tried, as the drop of the log determinant:
        // 3 and more where item and bench differ plainly, under 1 where they look alike and the place is a
        // guess.
        double plainness = 0.0;
    };

    // Empty where the best place lies within the blur of the end of the reach, or where the edge explains the
    // line hardly better than no edge. line: `samples` values of linear luminance, Cb and Cr, all 0 to 1 in
    // span.
    [[nodiscard]] std::optional<Edge> edge(const std::vector<cv::Vec3d>& line) const;

    // The places tried, outward from the expected one, evenly spaced over +-reach_mm; and how unlikely a line
    // makes each of them (log determinant of one covariance of all its residuals, up to a constant): sums
    // over lines of one edge say where they all have it.
    [[nodiscard]] const std::vector<double>& places_mm() const { return places_mm_; }
    [[nodiscard]] std::vector<double> costs(const std::vector<cv::Vec3d>& line) const;

    static constexpr double reach_mm = 0.9;

    static constexpr int functions = 6;  // of either model
    // Orthonormal functions that span a model's, sample by sample; zero where they are fewer.
    using Basis = std::vector<std::array<double, functions>>;

  private:
    struct Model {
        Basis luminance;
        Basis colour;
        cv::Matx<double, functions, functions> luminance_by_colour;  // scalar products of one with the other
    };
    struct Channels;
    [[nodiscard]] static double log_determinant(const Channels& line, const Model& model);
    [[nodiscard]] double cost_by_side(const Channels& line, std::size_t place) const;

    double spacing_mm_;
    double blur_mm_;
    int inside_samples_;
    int samples_;
    std::vector<double> places_mm_;
    std::vector<Model> models_;  // one a place
    Model smooth_;               // one smooth curve without an edge
};

}  // namespace frayhold::gauge
