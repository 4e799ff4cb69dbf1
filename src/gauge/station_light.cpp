// SPDX-License-Identifier: Apache-2.0
#include "gauge/station_light.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>

#include "gauge/light.h"
#include "gauge/wide.h"

namespace frayhold::gauge {
namespace {

constexpr double station_mm = 1.0;

float luma_of(const cv::Vec3f& bgr) {
    return 0.114F * bgr[0] + 0.587F * bgr[1] + 0.299F * bgr[2];
}

// Adds the light of each value of a row.
FRAYHOLD_WIDE void add_light(const uchar* values, std::size_t count, const float* light_of, float* sums) {
    for (std::size_t i = 0; i < count; ++i) sums[i] += light_of[values[i]];
}

// The sums over one station's rows.
class Sums {
  public:
    Sums(const Strip& strip, StationDetail detail)
        : strip_(strip),
          all_(detail == StationDetail::all),
          coded_(all_ ? static_cast<std::size_t>(strip.bgr.cols) : 0),
          squares_(coded_.size()) {}

    void take(cv::Range rows, cv::Vec3f* mean, float* share) {
        const int columns = strip_.bgr.cols;
        std::fill(mean, mean + columns, cv::Vec3f());
        std::fill(share, share + columns, 0.0F);
        std::fill(coded_.begin(), coded_.end(), cv::Vec3f());
        std::fill(squares_.begin(), squares_.end(), 0.0F);
        for (int r = rows.start; r < rows.end; ++r) {
            const auto* seen = strip_.seen.ptr<uchar>(r);
            const bool all_seen = std::find(seen, seen + columns, uchar{0}) == seen + columns;
            add_row(strip_.bgr.ptr<cv::Vec3b>(r), all_seen ? nullptr : seen, mean, share);
        }
        for (int c = 0; c < columns; ++c)
            if (share[c] > 0) mean[c] *= 1.0F / share[c];
    }

    // Of the sums last taken; share as it was then.
    void tell(const cv::Vec3f* mean, const float* share, cv::Vec3f* channels, float* roughness) const {
        for (int c = 0; c < strip_.bgr.cols; ++c) {
            cv::Vec3f v = coded_[static_cast<std::size_t>(c)];
            float square = squares_[static_cast<std::size_t>(c)] / (255.0F * 255.0F);
            if (share[c] > 0) {
                v *= 1.0F / (255.0F * share[c]);
                square /= share[c];
            }
            const float luma = luma_of(v);
            roughness[c] = std::sqrt(std::max(0.0F, square - luma * luma)) / (luma + 0.02F);
            channels[c] = {0.0722F * mean[c][0] + 0.7152F * mean[c][1] + 0.2126F * mean[c][2],
                           (v[0] - luma) / 1.772F, (v[2] - luma) / 1.402F};
        }
    }

  private:
    // seen: null where all of the row is.
    void add_row(const cv::Vec3b* from, const uchar* seen, cv::Vec3f* mean, float* share) {
        const auto& linear = linear_of_srgb();
        const int columns = strip_.bgr.cols;
        if (seen == nullptr)
            add_light(from->val, static_cast<std::size_t>(columns) * 3, linear.data(), mean->val);
        for (int c = 0; c < columns; ++c) {
            if (seen != nullptr && !seen[c]) continue;
            share[c] += 1.0F;
            if (seen != nullptr)
                mean[c] += cv::Vec3f(linear[from[c][0]], linear[from[c][1]], linear[from[c][2]]);
            if (!all_) continue;
            coded_[static_cast<std::size_t>(c)] += cv::Vec3f(from[c]);
            const float luma = luma_of(cv::Vec3f(from[c]));
            squares_[static_cast<std::size_t>(c)] += luma * luma;
        }
    }

    const Strip& strip_;
    bool all_;
    std::vector<cv::Vec3f> coded_;  // as the picture has them, 0 to 255
    std::vector<float> squares_;    // of luma
};

}  // namespace

StationLight station_light(const Strip& strip, StationDetail detail) {
    const int rows_a_station = std::max(1, static_cast<int>(std::lround(station_mm / strip.mm_per_px)));
    const int stations = strip.bgr.rows / rows_a_station;
    StationLight light;
    light.mean.create(stations, strip.bgr.cols, CV_32FC3);
    light.seen.create(stations, strip.bgr.cols, CV_32F);
    if (detail == StationDetail::all) {
        light.luminance_and_colour.create(stations, strip.bgr.cols, CV_32FC3);
        light.roughness.create(stations, strip.bgr.cols, CV_32F);
    }
    cv::parallel_for_({0, stations}, [&](const cv::Range& range) {
        Sums sums(strip, detail);
        for (int s = range.start; s < range.end; ++s) {
            auto* mean = light.mean.ptr<cv::Vec3f>(s);
            auto* share = light.seen.ptr<float>(s);
            sums.take({s * rows_a_station, (s + 1) * rows_a_station}, mean, share);
            if (detail == StationDetail::all)
                sums.tell(mean, share, light.luminance_and_colour.ptr<cv::Vec3f>(s),
                          light.roughness.ptr<float>(s));
            for (int c = 0; c < strip.bgr.cols; ++c) share[c] /= static_cast<float>(rows_a_station);
        }
    });
    for (int s = 0; s < stations; ++s) {
        light.row.push_back((s + 0.5) * rows_a_station - 0.5);
        light.along_mm.push_back(light.row.back() * strip.mm_per_px);
    }
    return light;
}

std::string with_place(const std::string& words, const StationLight& light, std::size_t first,
                       std::size_t last) {
    return fmt::format("{}: {:.0f} – {:.0f} mm", words, light.along_mm[first] - light.along_mm[0],
                       light.along_mm[last] - light.along_mm[0]);
}

cv::Mat look_across(const Strip& strip, const StationLight& light, std::size_t station, double left_mm,
                    double right_mm, Section section) {
    constexpr int places = 12;
    constexpr double outermost = 0.9;  // of the half width
    const double middle = (left_mm + right_mm) / 2, half = (right_mm - left_mm) / 2;
    cv::Mat look(1, places, CV_32FC3);
    const auto* row = light.mean.ptr<cv::Vec3f>(static_cast<int>(station));
    const auto at = [&](double share) {
        const double reach =
            section == Section::round ? std::sin(share * std::asin(outermost)) : share * outermost;
        return std::clamp(static_cast<int>(std::lround(strip.column_at(middle + half * reach))), 0,
                          strip.bgr.cols - 1);
    };
    for (int k = 0; k < places; ++k) {
        const int from = at(2.0 * k / places - 1), to = std::max(from, at(2.0 * (k + 1) / places - 1) - 1);
        cv::Vec3f sum;
        for (int c = from; c <= to; ++c) sum += row[c];
        look.at<cv::Vec3f>(0, k) = sum / static_cast<float>(to - from + 1);
    }
    return look;
}

}  // namespace frayhold::gauge
