// SPDX-License-Identifier: Apache-2.0
#include "gauge/flatten.h"

#include <algorithm>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "gauge/card_design.h"
#include "gauge/card_fit.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

// What the photo sees of the bench, looked at on a grid of its pixels.
cv::Rect2d seen_bench(const cv::Matx33d& bench_from_picture, cv::Size size, double reach_mm) {
    constexpr int steps = 24;
    double left = 0, top = 0, right = id1_width_mm, bottom = id1_height_mm;
    // The horizon: beyond it the third coordinate has the other sign than at the card.
    for (int i = 0; i <= steps; ++i)
        for (int j = 0; j <= steps; ++j) {
            const cv::Vec3d p = bench_from_picture *
                                cv::Vec3d(size.width * double(i) / steps, size.height * double(j) / steps, 1);
            if (p[2] <= 0) continue;
            const double x = std::clamp(p[0] / p[2], -reach_mm, id1_width_mm + reach_mm);
            const double y = std::clamp(p[1] / p[2], -reach_mm, id1_height_mm + reach_mm);
            left = std::min(left, x);
            right = std::max(right, x);
            top = std::min(top, y);
            bottom = std::max(bottom, y);
        }
    return {left, top, right - left, bottom - top};
}

}  // namespace

Result<FlatPicture> flattened(const cv::Mat& bgr, const std::array<cv::Point2d, 4>& corners_px,
                              int longest_side_px, double reach_mm) {
    if (!go_round_clockwise(corners_px))
        return failed(Fault::input, tr_later("the card's corners"), "they do not go round a card clockwise",
                      "start at its own top left");
    const std::vector<cv::Point2f> card(id1_corners_mm.begin(), id1_corners_mm.end()),
        seen(corners_px.begin(), corners_px.end());
    const cv::Matx33d picture_from_bench = cv::getPerspectiveTransform(card, seen);
    cv::Matx33d bench_from_picture = picture_from_bench.inv();
    // The sign of a homography is free: at the card the third coordinate is made positive.
    const cv::Vec3d at_card = bench_from_picture * cv::Vec3d(corners_px[0].x, corners_px[0].y, 1);
    if (at_card[2] < 0) bench_from_picture *= -1;

    const cv::Rect2d bench = seen_bench(bench_from_picture, bgr.size(), reach_mm);
    FlatPicture flat;
    flat.mm_per_px = std::max(bench.width, bench.height) / longest_side_px;
    const cv::Matx33d bench_from_flat(flat.mm_per_px, 0, bench.x, 0, flat.mm_per_px, bench.y, 0, 0, 1);
    flat.picture_from_flat = picture_from_bench * bench_from_flat;
    const cv::Size size(std::max(1, cvRound(bench.width / flat.mm_per_px)),
                        std::max(1, cvRound(bench.height / flat.mm_per_px)));
    const cv::Scalar beyond(40, 44, 46);  // a dark grey: plainly no bench
    cv::warpPerspective(bgr, flat.bgr, flat.picture_from_flat, size, cv::INTER_LINEAR | cv::WARP_INVERSE_MAP,
                        cv::BORDER_CONSTANT, beyond);
    return flat;
}

}  // namespace frayhold::gauge
