// SPDX-License-Identifier: Apache-2.0
#include "gauge/evened_slopes.h"

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>
#include <utility>
#include <vector>

#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

using Slope = cv::Vec<float, 6>;  // of three channels rightward, then downward
using SlopeVariance = cv::Matx<float, 6, 6>;

Slope slope_of(const cv::Vec3s& rightward, const cv::Vec3s& downward) {
    return {float(rightward[0]), float(rightward[1]), float(rightward[2]),
            float(downward[0]),  float(downward[1]),  float(downward[2])};
}

// How much slopes vary where nothing but the bench is seen: the covariance of the half of all slopes that lie
// closest together (Rousseeuw 1985, minimum covariance determinant), enlarged to what it would be of all of
// them were they normal.
SlopeVariance usual_slopes(const cv::Mat& dx3, const cv::Mat& dy3) {
    constexpr int stride = 9, rounds = 6;
    constexpr double half_to_all = 1.79;    // 0.5 / P(chi-square of 8 degrees < its median of 6 degrees)
    constexpr double least_variance = 4.0;  // rounding to whole grey levels
    std::vector<Slope> slopes;
    for (int y = 1; y < dx3.rows - 1; y += stride)
        for (int x = 1; x < dx3.cols - 1; x += stride)
            slopes.push_back(slope_of(dx3.at<cv::Vec3s>(y, x), dy3.at<cv::Vec3s>(y, x)));
    SlopeVariance usual = SlopeVariance::eye();
    std::vector<std::pair<float, std::size_t>> far(slopes.size());
    for (int round = 0; round < rounds; ++round) {
        const SlopeVariance inverse = usual.inv(cv::DECOMP_CHOLESKY);
        for (std::size_t i = 0; i < slopes.size(); ++i) far[i] = {slopes[i].dot(inverse * slopes[i]), i};
        const auto middle = far.begin() + static_cast<std::ptrdiff_t>(far.size() / 2);
        std::nth_element(far.begin(), middle, far.end());
        SlopeVariance sum = SlopeVariance::zeros();
        for (auto f = far.begin(); f != middle; ++f) sum += slopes[f->second] * slopes[f->second].t();
        usual =
            sum * (half_to_all / static_cast<double>(far.size() / 2)) + SlopeVariance::eye() * least_variance;
    }
    return usual;
}

}  // namespace

EvenedSlopes evened_slopes(const cv::Mat& bgr) {
    EvenedSlopes picture{cv::Mat(bgr.size(), CV_16S), cv::Mat(bgr.size(), CV_16S),
                         cv::Mat(bgr.size(), CV_8U, cv::Scalar(0)), 0.0};
    constexpr int least_side_px = 40;
    if (std::min(bgr.rows, bgr.cols) < least_side_px) return picture;
    cv::Mat smooth, dx3, dy3;
    cv::GaussianBlur(bgr, smooth, {5, 5}, 1.0);
    cv::Sobel(smooth, dx3, CV_16S, 1, 0);
    cv::Sobel(smooth, dy3, CV_16S, 0, 1);
    const SlopeVariance seldom = usual_slopes(dx3, dy3).inv(cv::DECOMP_CHOLESKY);
    cv::Matx33f hue;
    for (int i = 0; i < 3; ++i)
        for (int j = 0; j < 3; ++j) hue(i, j) = (seldom(i, j) + seldom(i + 3, j + 3)) / 2;
    constexpr double stands_out = 0.94, least_clear = 5.0;
    constexpr float unit = 16.F;  // of the slopes kept as whole numbers
    constexpr auto no_edge = static_cast<float>(faint_share * least_clear);
    cv::Mat steep(bgr.size(), CV_32F);
    for (int y = 0; y < bgr.rows; ++y) {
        const auto *x3 = dx3.ptr<cv::Vec3s>(y), *y3 = dy3.ptr<cv::Vec3s>(y);
        auto *x1 = picture.dx.ptr<short>(y), *y1 = picture.dy.ptr<short>(y);
        auto* size = steep.ptr<float>(y);
        for (int x = 0; x < bgr.cols; ++x) {
            const Slope slope = slope_of(x3[x], y3[x]);
            size[x] = std::sqrt(std::max(0.F, slope.dot(seldom * slope)));
            x1[x] = y1[x] = 0;
            if (size[x] < no_edge) continue;
            // The steepest way of all mixes of the three (Di Zenzo 1986).
            const cv::Vec3f u(slope[0], slope[1], slope[2]), v(slope[3], slope[4], slope[5]);
            const cv::Vec3f hu = hue * u, hv = hue * v;
            const float xx = u.dot(hu), yy = v.dot(hv), xy = u.dot(hv);
            const float apart = std::sqrt((xx - yy) * (xx - yy) + 4 * xy * xy);
            const float cosine = apart > 0 ? (xx - yy) / apart : 1.F;
            const float c = std::sqrt(std::max(0.F, 0.5F * (1 + cosine))),
                        s = std::copysign(std::sqrt(std::max(0.F, 0.5F * (1 - cosine))), xy);
            x1[x] = cv::saturate_cast<short>(unit * size[x] * c);
            y1[x] = cv::saturate_cast<short>(unit * size[x] * s);
        }
    }
    // Grain and weave of a bench have edges everywhere: what counts is what stands out from most of them. By
    // tiles, for print may fill half the picture; a third of them at least is bench.
    constexpr int across = 8, down = 6;
    std::vector<float> clear;
    for (int j = 0; j < down; ++j)
        for (int i = 0; i < across; ++i) {
            std::vector<float> sizes;
            for (int y = j * bgr.rows / down; y < (j + 1) * bgr.rows / down; y += 3)
                for (int x = i * bgr.cols / across; x < (i + 1) * bgr.cols / across; x += 3)
                    sizes.push_back(steep.at<float>(y, x));
            clear.push_back(static_cast<float>(quantile(sizes, stands_out)));
        }
    const double least = std::max<double>(least_clear, quantile(clear, 1.0 / 3));
    cv::Canny(picture.dx, picture.dy, picture.edges, unit * faint_share * least, unit * least, true);
    picture.clear = unit * least;
    return picture;
}

}  // namespace frayhold::gauge
