// SPDX-License-Identifier: Apache-2.0
#include <turbojpeg.h>

#include <algorithm>
#include <array>
#include <memory>
#include <opencv2/core.hpp>
#include <string_view>

#include "photo/big_endian.h"
#include "photo/decoder.h"
#include "photo/frame_memory.h"

namespace frayhold::photo {
namespace {

struct Close {
    void operator()(void* handle) const { tjDestroy(handle); }
};

constexpr std::byte marker_start{0xFF};
constexpr std::byte application_1{0xE1};
constexpr std::byte start_of_scan{0xDA};
constexpr std::array<char, 6> exif_name{'E', 'x', 'i', 'f', '\0', '\0'};

// Four-ink JPEGs hold the inverse of the ink (the habit every reader follows): 255 is no ink.
cv::Mat bgr_from_inverse_inks(const cv::Mat& inks) {
    cv::Mat bgr = new_frame(inks.rows, inks.cols, CV_8UC3);
    for (int row = 0; row < inks.rows; ++row) {
        const auto* from = inks.ptr<cv::Vec4b>(row);
        auto* to = bgr.ptr<cv::Vec3b>(row);
        for (int column = 0; column < inks.cols; ++column) {
            const int black = from[column][3];
            for (int channel = 0; channel < 3; ++channel)
                to[column][channel] = static_cast<uchar>((from[column][2 - channel] * black + 127) / 255);
        }
    }
    return bgr;
}

// Rubbish between the last pixel and the end marker, as some cameras leave it, takes nothing from the
// picture.
bool only_rubbish_at_end(std::string_view words) {
    return words.ends_with("extraneous bytes before marker 0xd9");
}

}  // namespace

// The Exif block lies in a marker segment before the picture data (CIPA DC-008, 4.7.2), not always the first
// one.
std::vector<std::byte> exif_in_jpeg(std::span<const std::byte> jpeg) {
    std::size_t at = 2;
    while (at + 4 <= jpeg.size() && jpeg[at] == marker_start) {
        const std::byte marker = jpeg[at + 1];
        if (marker == marker_start) {  // a fill byte
            ++at;
            continue;
        }
        if (marker == start_of_scan) break;
        const std::size_t length = big_endian(jpeg.subspan(at + 2, 2));
        if (length < 2 || at + 2 + length > jpeg.size()) break;
        const auto content = jpeg.subspan(at + 4, length - 2);
        const auto name = std::as_bytes(std::span(exif_name));
        if (marker == application_1 && content.size() > name.size() &&
            std::equal(name.begin(), name.end(), content.begin())) {
            const auto tiff = content.subspan(name.size());
            return {tiff.begin(), tiff.end()};
        }
        at += 2 + length;
    }
    return {};
}

Result<Decoded> decode_jpeg(std::span<const std::byte> bytes, const std::string& name,
                            const DecodeLimits& limits) {
    const std::unique_ptr<void, Close> decoder(tjInitDecompress());
    if (!decoder) return damaged(name, tjGetErrorStr2(nullptr));
    const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
    const auto size = static_cast<unsigned long>(bytes.size());

    int width = 0;
    int height = 0;
    int subsampling = 0;
    int colour_space = 0;
    if (tjDecompressHeader3(decoder.get(), data, size, &width, &height, &subsampling, &colour_space) != 0)
        return damaged(name, tjGetErrorStr2(decoder.get()));
    // The library takes a header without a frame for one with tables only.
    if (width == 0 || height == 0) return cut_short(name);
    if (auto fits = check_size(width, height, name, limits); !fits) return tl::make_unexpected(fits.error());

    const bool inks = colour_space == TJCS_CMYK || colour_space == TJCS_YCCK;
    const cv::Mat pixels = new_frame(height, width, inks ? CV_8UC4 : CV_8UC3);
    const int result =
        tjDecompress2(decoder.get(), data, size, pixels.data, width, static_cast<int>(pixels.step), height,
                      inks ? TJPF_CMYK : TJPF_BGR, TJFLAG_ACCURATEDCT | TJFLAG_LIMITSCANS);
    if (result != 0) {
        const std::string_view words = tjGetErrorStr2(decoder.get());
        const bool warned = tjGetErrorCode(decoder.get()) == TJERR_WARNING;
        // The library fills what is missing with grey; a measured picture must be whole.
        if (words.find("Premature end of JPEG file") != std::string_view::npos) return cut_short(name);
        if (!warned || !only_rubbish_at_end(words)) return damaged(name, words);
    }
    return Decoded{inks ? bgr_from_inverse_inks(pixels) : pixels, exif_in_jpeg(bytes), false};
}

}  // namespace frayhold::photo
