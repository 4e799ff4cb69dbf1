// SPDX-License-Identifier: Apache-2.0
#include "gauge/paper_tint.h"

#include <algorithm>
#include <array>
#include <opencv2/core.hpp>
#include <vector>

#include "gauge/card_design.h"
#include "gauge/colour.h"
#include "gauge/light.h"
#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

// Nothing is printed within this of a bare place: blur and chroma subsampling mix colours over a pixel or
// two.
constexpr double clear_mm = 0.8;

std::vector<cv::Point2d> bare_places() {
    std::vector<cv::Rect2d> printed{hold_number_area_mm, name_area_mm};
    for (const CardPatch& patch : card_patches()) printed.push_back(patch.rect_mm);
    for (cv::Rect2d& rect : printed)
        rect = {rect.x - clear_mm, rect.y - clear_mm, rect.width + 2 * clear_mm, rect.height + 2 * clear_mm};
    constexpr double step_mm = 0.5;
    std::vector<cv::Point2d> places;
    for (double y = clear_mm; y < id1_height_mm - clear_mm; y += step_mm)
        for (double x = clear_mm; x < id1_width_mm - clear_mm; x += step_mm)
            if (std::none_of(printed.begin(), printed.end(), [&](const cv::Rect2d& rect) {
                    return rect.contains({x, y});
                }))
                places.emplace_back(x, y);
    return places;
}

}  // namespace

double PaperTint::of_paper() const {
    double before = 0.0;
    for (int i = 0; i < 3; ++i) before += luminance_mix[i] / gains[i];
    return 1.0 / before;
}

cv::Mat PaperTint::taken_from(const cv::Mat& bgr) const {
    cv::Mat table(1, 256, CV_8UC3), out;
    for (int value = 0; value < 256; ++value)
        for (int i = 0; i < 3; ++i)
            table.at<cv::Vec3b>(value)[i] = cv::saturate_cast<uchar>(
                255.0 * srgb_of_linear(gains[i] * static_cast<double>(
                                                      linear_of_srgb()[static_cast<std::size_t>(value)])));
    cv::LUT(bgr, table, out);
    return out;
}

PaperTint paper_tint(const cv::Mat& bgr, const ViewFit& fit) {
    if (fit.white <= 0) return {};
    std::array<std::vector<double>, 3> light;
    for (const cv::Point2d place : bare_places()) {
        const cv::Point at(fit.view.picture_from_bench(place));
        if (at.x < 0 || at.y < 0 || at.x >= bgr.cols || at.y >= bgr.rows) continue;
        const auto& pixel = bgr.at<cv::Vec3b>(at);
        constexpr uchar clipped = 250;
        if (std::max({pixel[0], pixel[1], pixel[2]}) >= clipped) continue;
        for (int i = 0; i < 3; ++i)
            light[static_cast<std::size_t>(i)].push_back(static_cast<double>(linear_of_srgb()[pixel[i]]));
    }
    constexpr std::size_t least_places = 100;
    if (light[0].size() < least_places) return {};
    cv::Vec3d paper;
    for (int i = 0; i < 3; ++i) paper[i] = quantile(light[static_cast<std::size_t>(i)], 0.5);
    const double least = std::min({paper[0], paper[1], paper[2]});
    // What is darker than this or tinted more is no white paper in any usual light.
    constexpr double darkest = 0.02, strongest = 0.4;
    if (least < darkest) return {};
    PaperTint tint;
    for (int i = 0; i < 3; ++i) tint.gains[i] = std::max(strongest, least / paper[i]);
    return tint;
}

}  // namespace frayhold::gauge
