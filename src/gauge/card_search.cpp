// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_search.h"

#include <map>

#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"

namespace frayhold::gauge {
namespace {

// A whole-number reduction is a plain box average: fast, and free of the ringing of other kernels.
cv::Mat reduced_grey(const cv::Mat& bgr, int factor) {
    cv::Mat small = bgr;
    if (factor > 1) cv::resize(bgr, small, {bgr.cols / factor, bgr.rows / factor}, 0, 0, cv::INTER_AREA);
    cv::Mat grey;
    cv::cvtColor(small, grey, cv::COLOR_BGR2GRAY);
    return grey;
}

std::vector<MarkerSighting> find_at(const cv::Mat& bgr, int factor) {
    const cv::Mat grey = reduced_grey(bgr, factor);
    auto options = cv::aruco::DetectorParameters::create();
    options->adaptiveThreshWinSizeMin = 5;
    options->adaptiveThreshWinSizeMax = 21;
    options->adaptiveThreshWinSizeStep = 16;
    options->minMarkerPerimeterRate = 0.025;
    options->polygonalApproxAccuracyRate = 0.06;
    options->errorCorrectionRate = 0.4;
    options->perspectiveRemovePixelPerCell = 6;
    std::vector<std::vector<cv::Point2f>> corners;
    std::vector<int> ids;
    cv::aruco::detectMarkers(grey, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_50), corners, ids, options);

    std::map<int, MarkerSighting> best;
    std::map<int, double> best_area;
    for (const CardMarker& marker : card_markers()) best_area[marker.id] = 0.0;
    for (std::size_t i = 0; i < ids.size(); ++i) {
        const auto known = best_area.find(ids[i]);
        const double area = cv::contourArea(corners[i]);
        if (known == best_area.end() || area <= known->second) continue;
        known->second = area;
        MarkerSighting sighting{ids[i], {}};
        // A pixel of the reduced picture is centred on the middle of the pixels it averages.
        for (std::size_t c = 0; c < 4; ++c)
            sighting.corners_px[c] = (cv::Point2d(corners[i][c]) + cv::Point2d(0.5, 0.5)) * factor - cv::Point2d(0.5, 0.5);
        best[ids[i]] = sighting;
    }
    std::vector<MarkerSighting> found;
    for (const auto& [id, sighting] : best) found.push_back(sighting);
    return found;
}

}  // namespace

std::vector<MarkerSighting> find_markers(const cv::Mat& bgr) {
    constexpr int search_side_px = 1400;
    constexpr std::size_t enough = 2;
    const int side = std::max(bgr.cols, bgr.rows);
    const int factor = std::max(1, (side + search_side_px - 1) / search_side_px);
    auto found = find_at(bgr, factor);
    if (found.size() < enough && factor > 1) {
        auto finer = find_at(bgr, std::max(1, factor / 2));
        if (finer.size() > found.size()) found = std::move(finer);
    }
    return found;
}

}  // namespace frayhold::gauge
