// SPDX-License-Identifier: Apache-2.0
#include "gauge/card_search.h"

#include <map>
#include <opencv2/aruco.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"

namespace frayhold::gauge {
namespace {

// A whole-number reduction is a plain box average: fast, and free of the ringing of other kernels.
ReducedPicture reduced_by(const cv::Mat& bgr, int factor) {
    ReducedPicture reduced{bgr, factor};
    if (factor > 1) {
        // resize() averages whole boxes only where the size divides evenly.
        const cv::Mat even = bgr(cv::Rect(0, 0, bgr.cols / factor * factor, bgr.rows / factor * factor));
        cv::resize(even, reduced.bgr, {bgr.cols / factor, bgr.rows / factor}, 0, 0, cv::INTER_AREA);
    }
    return reduced;
}

std::vector<MarkerSighting> find_in(const ReducedPicture& reduced) {
    cv::Mat grey;
    cv::cvtColor(reduced.bgr, grey, cv::COLOR_BGR2GRAY);
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
    constexpr std::size_t enough = 2;
    auto found = find_in(reduced);
    if (found.size() < enough && reduced.factor > 1) {
        auto finer = find_in(reduced_by(bgr, std::max(1, reduced.factor / 2)));
        if (finer.size() > found.size()) found = std::move(finer);
    }
    return found;
}

}  // namespace frayhold::gauge
