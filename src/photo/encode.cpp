// SPDX-License-Identifier: Apache-2.0
#include "photo/encode.h"

#include <png.h>
#include <turbojpeg.h>

#include <cmath>
#include <memory>
#include <new>
#include <span>
#include <stdexcept>

#include "photo/big_endian.h"
#include "photo/png_chunk.h"

namespace frayhold::photo {
namespace {

struct Release {
    void operator()(void* handle) const { tjDestroy(handle); }
    void operator()(unsigned char* bytes) const { tjFree(bytes); }
};

void require(bool right) {
    if (!right) throw std::invalid_argument("the picture to encode is empty or of the wrong pixel type");
}

// The chunk pHYs of ISO/IEC 15948, 11.3.5.3: pixels a metre, both ways.
std::vector<std::byte> print_size_chunk(double dots_per_mm) {
    const auto per_metre = static_cast<std::size_t>(std::lround(dots_per_mm * 1000.0));
    std::vector<std::byte> content;
    append_big_endian(content, per_metre, 4);
    append_big_endian(content, per_metre, 4);
    content.push_back(std::byte{1});  // unit: metre
    std::vector<std::byte> chunk;
    append_png_chunk(chunk, "pHYs", content);
    return chunk;
}

}  // namespace

std::vector<std::byte> encode_jpeg(const cv::Mat& bgr, int quality) {
    require(!bgr.empty() && bgr.type() == CV_8UC3);
    const std::unique_ptr<void, Release> encoder(tjInitCompress());
    if (!encoder) throw std::bad_alloc();
    unsigned char* out = nullptr;
    unsigned long size = 0;
    const int result = tjCompress2(encoder.get(), bgr.data, bgr.cols, static_cast<int>(bgr.step), bgr.rows,
                                   TJPF_BGR, &out, &size, TJSAMP_444, quality, TJFLAG_ACCURATEDCT);
    const std::unique_ptr<unsigned char, Release> owned(out);
    if (result != 0) throw std::invalid_argument(tjGetErrorStr2(encoder.get()));
    const auto bytes = std::as_bytes(std::span(out, size));
    return {bytes.begin(), bytes.end()};
}

std::vector<std::byte> encode_png(const cv::Mat& pixels, double dots_per_mm) {
    require(!pixels.empty() && (pixels.type() == CV_8UC1 || pixels.type() == CV_8UC3));
    png_image image{};
    image.version = PNG_IMAGE_VERSION;
    image.width = static_cast<png_uint_32>(pixels.cols);
    image.height = static_cast<png_uint_32>(pixels.rows);
    image.format = pixels.channels() == 1 ? PNG_FORMAT_GRAY : PNG_FORMAT_BGR;
    png_alloc_size_t size = PNG_IMAGE_PNG_SIZE_MAX(image);
    std::vector<std::byte> bytes(size);
    const auto stride = static_cast<png_int_32>(pixels.step);
    if (png_image_write_to_memory(&image, bytes.data(), &size, 0, pixels.data, stride, nullptr) == 0)
        throw std::invalid_argument(image.message);
    bytes.resize(size);
    constexpr std::size_t header_bytes = 13;  // of IHDR's content
    constexpr std::ptrdiff_t end_of_header_chunk = png_signature_bytes + png_chunk_frame_bytes + header_bytes;
    const std::vector<std::byte> print_size = print_size_chunk(dots_per_mm);
    bytes.insert(bytes.begin() + end_of_header_chunk, print_size.begin(), print_size.end());
    return bytes;
}

}  // namespace frayhold::photo
