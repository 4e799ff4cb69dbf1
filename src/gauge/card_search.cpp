// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_search.h"

#include <algorithm>
#include <cstdint>
#include <cstring>
#include <map>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"
#include "gauge/wide.h"

namespace frayhold::gauge {
namespace {

// Adds a row's values to the sums.
FRAYHOLD_WIDE void add_values(const uchar* values, std::size_t count, std::uint16_t* sums) {
    for (std::size_t i = 0; i < count; ++i) sums[i] = static_cast<std::uint16_t>(sums[i] + values[i]);
}

// At each value the mean over as many pixels onward, the sums being over as many rows.
FRAYHOLD_WIDE void means_onward(const std::uint16_t* sums, std::size_t count, std::size_t pixels,
                                std::uint16_t* onward, uchar* means) {
    std::copy(sums, sums + count, onward);
    for (std::size_t k = 1; k < pixels; ++k)
        for (std::size_t i = 0; i < count; ++i)
            onward[i] = static_cast<std::uint16_t>(onward[i] + sums[i + 3 * k]);
    const float share = 1.0F / static_cast<float>(pixels * pixels);
    for (std::size_t i = 0; i < count; ++i)
        means[i] = static_cast<uchar>(static_cast<int>(static_cast<float>(onward[i]) * share + 0.5F));
}

// A whole-number reduction is a plain box average: fast, and free of the ringing of other kernels.
ReducedPicture reduced_by(const cv::Mat& bgr, int factor) {
    if (factor == 1) return {bgr, factor};
    constexpr int most = 16;  // so that the sums hold
    CV_Assert(factor <= most);
    ReducedPicture reduced{cv::Mat(bgr.rows / factor, bgr.cols / factor, CV_8UC3), factor};
    const auto columns = static_cast<std::size_t>(reduced.bgr.cols), step = static_cast<std::size_t>(factor);
    cv::parallel_for_({0, reduced.bgr.rows}, [&](const cv::Range& range) {
        const std::size_t values = columns * step * 3, last = values - 3 * (step - 1);
        std::vector<std::uint16_t> sums(values), onward(values);
        std::vector<uchar> means(values);
        for (int y = range.start; y < range.end; ++y) {
            std::fill(sums.begin(), sums.end(), std::uint16_t{0});
            for (int k = 0; k < factor; ++k) add_values(bgr.ptr(y * factor + k), values, sums.data());
            means_onward(sums.data(), last, step, onward.data(), means.data());
            auto* to = reduced.bgr.ptr(y);
            for (std::size_t x = 0; x < columns; ++x) std::memcpy(to + 3 * x, &means[3 * step * x], 3);
        }
    });
    return reduced;
}

// Over how many pixels the light is averaged that parts black from white: any of several, the more the surer.
struct Windows {
    int least_px, most_px;
};

std::vector<MarkerSighting> find_in(const ReducedPicture& reduced, Windows windows) {
    cv::Mat grey;
    cv::cvtColor(reduced.bgr, grey, cv::COLOR_BGR2GRAY);
    auto options = cv::aruco::DetectorParameters::create();
    options->adaptiveThreshWinSizeMin = windows.least_px;
    options->adaptiveThreshWinSizeMax = windows.most_px;
    options->adaptiveThreshWinSizeStep = 16;
    options->minMarkerPerimeterRate = 0.025;
    options->polygonalApproxAccuracyRate = 0.06;
    options->errorCorrectionRate = 0.4;
    options->perspectiveRemovePixelPerCell = 6;
    std::vector<std::vector<cv::Point2f>> corners;
    std::vector<int> ids;
    cv::aruco::detectMarkers(grey, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_50), corners, ids,
                             options);

    std::map<int, MarkerSighting> best;
    std::map<int, double> best_area;
    for (const CardMarker& marker : card_markers()) best_area[marker.id] = 0.0;
    for (std::size_t i = 0; i < ids.size(); ++i) {
        const auto known = best_area.find(ids[i]);
        const double area = cv::contourArea(corners[i]);
        if (known == best_area.end() || area <= known->second) continue;
        known->second = area;
        MarkerSighting sighting{ids[i], {}};
        for (std::size_t c = 0; c < 4; ++c)
            sighting.corners_px[c] = reduced.full_px(cv::Point2d(corners[i][c]));
        best[ids[i]] = sighting;
    }
    std::vector<MarkerSighting> found;
    for (const auto& [id, sighting] : best) found.push_back(sighting);
    return found;
}

}  // namespace

ReducedPicture reduced_picture(const cv::Mat& bgr) {
    constexpr int search_side_px = 1400;
    return reduced_by(bgr, std::max(1, (std::max(bgr.cols, bgr.rows) + search_side_px - 1) / search_side_px));
}

std::vector<MarkerSighting> find_markers(const cv::Mat& bgr, const ReducedPicture& reduced) {
    constexpr Windows one{9, 9}, two{5, 21};
    auto small = find_in({reduced_by(reduced.bgr, 2).bgr, 2 * reduced.factor}, one);
    if (small.size() == card_markers().size()) return small;

    constexpr std::size_t enough = 2;
    auto found = find_in(reduced, two);
    if (found.size() < enough && reduced.factor > 1) {
        auto finer = find_in(reduced_by(bgr, std::max(1, reduced.factor / 2)), two);
        if (finer.size() > found.size()) found = std::move(finer);
    }
    return found;
}

}  // namespace frayhold::gauge
