// SPDX-License-Identifier: Apache-2.0
#include <array>

#include "fuzz/demand.h"
#include "gauge/gauge.h"
#include "photo/photo.h"

namespace frayhold::fuzz {
namespace {

// Small, so that many are tried.
constexpr photo::DecodeLimits small{
    .max_side_px = 2000, .max_pixels = 1'000'000, .max_bytes = 1'000'000, .min_side_px = 1};

// The bytes as a picture, where they are one; else as pixels.
cv::Mat picture_of(Bytes bytes) {
    photo::DecodeLimits limits = small;
    limits.max_pixels = 400 * 400;
    if (auto photo = photo::decode(bytes, "p", limits)) return photo->bgr;
    constexpr int side_px = 96;
    cv::Mat bgr(side_px, side_px, CV_8UC3, cv::Scalar(128, 128, 128));
    for (std::size_t i = 0; i < bgr.total() * 3 && !bytes.empty(); ++i)
        bgr.data[i] = std::to_integer<unsigned char>(bytes[i % bytes.size()]);
    return bgr;
}

}  // namespace

void gauge_picture(Bytes bytes) {
    if (bytes.empty()) return;
    const auto choice = std::to_integer<unsigned>(bytes[0]);
    gauge::Request request;
    request.subject = (choice & 1U) != 0 ? gauge::Subject::webbing : gauge::Subject::rope;
    constexpr std::array cards{gauge::CardChoice::automatic, gauge::CardChoice::printed,
                               gauge::CardChoice::id1};
    request.card = cards[choice / 2 % cards.size()];
    if ((choice & 64U) != 0) {
        request.card = gauge::CardChoice::none;
        request.rule = gauge::RuleMark{{cv::Point2d(10, 10), cv::Point2d(80, 12)}, Millimetres(50.0)};
    }
    if ((choice & 128U) != 0) request.nominal = Millimetres(11.0);
    const auto report = gauge::measure(picture_of(bytes.subspan(1)), request);
    if (!report) return demand_words(report.error());
    for (const gauge::Reading& reading : report->readings)
        demand(reading.U >= 0.0 && reading.u >= 0.0, "every reading has its uncertainty");
    demand(report->quality.usable || !report->quality.reasons.empty(), "a photo that is refused is told why");
}

}  // namespace frayhold::fuzz
