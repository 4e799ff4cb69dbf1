// SPDX-License-Identifier: Apache-2.0
#include "photo/photo.h"

#include <fmt/format.h>
#include <libheif/heif.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <string_view>

#include "language/later.h"
#include "photo/decode_apart.h"
#include "photo/decoder.h"
#include "photo/exif.h"
#include "photo/frame_memory.h"
#include "photo/orientation.h"
#include "photo/sha256.h"

namespace frayhold::photo {
namespace {

bool starts_with(std::span<const std::byte> bytes, std::span<const unsigned char> sign) {
    return bytes.size() >= sign.size() &&
           std::equal(sign.begin(), sign.end(), bytes.begin(),
                      [](unsigned char a, std::byte b) { return a == std::to_integer<unsigned char>(b); });
}

enum class Format { jpeg, png, heic, other };

Format format_of(std::span<const std::byte> bytes) {
    constexpr std::array<unsigned char, 3> jpeg_sign{0xFF, 0xD8, 0xFF};
    constexpr std::array<unsigned char, 8> png_sign{0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
    if (starts_with(bytes, jpeg_sign)) return Format::jpeg;
    if (starts_with(bytes, png_sign)) return Format::png;
    constexpr std::size_t brand_bytes = 64;
    const auto head = bytes.first(std::min(bytes.size(), brand_bytes));
    const auto* data = reinterpret_cast<const uint8_t*>(head.data());
    const int size = static_cast<int>(head.size());
    for (const char* brand : {"heic", "heix"})
        if (heif_has_compatible_brand(data, size, brand) == 1) return Format::heic;
    return Format::other;
}

// Lays the rows into a frame of ours, upright.
class FrameOfRows : public RowTaker {
  public:
    void begin(StoredPicture picture) override {
        picture_ = std::move(picture);
        frame_.emplace(picture_.rows, picture_.columns,
                       picture_.upright_already ? 1 : picture_.exif.orientation);
    }
    std::span<std::byte> next() override { return frame_->next(); }

    [[nodiscard]] Photo photo(std::string sha256) {
        return {frame_->take(), std::move(picture_.exif), std::move(sha256), std::move(picture_.format)};
    }

  private:
    StoredPicture picture_;
    std::optional<UprightFrame> frame_;
};

std::string words_for(const DecodeLimits& limits) {
    return fmt::format("≤ {} MP, ≤ {} px", limits.max_pixels / 1'000'000, limits.max_side_px);
}

Failure too_large(const std::string& name, std::size_t limit) {
    return {Fault::input, name,
            fmt::format("{}: > {}", tr_later("the file is larger than allowed, in MB"), limit / 1'000'000),
            tr_later("give the photo as the camera saved it")};
}

}  // namespace

Result<void> check_size(long long width_px, long long height_px, const std::string& name,
                        const DecodeLimits& limits) {
    if (width_px > limits.max_side_px || height_px > limits.max_side_px ||
        width_px * height_px > limits.max_pixels)
        return failed(Fault::input, name,
                      fmt::format("{}: {} x {} px ({})", tr_later("the picture is larger than allowed"),
                                  width_px, height_px, words_for(limits)),
                      "give the photo as the camera saved it");
    if (width_px < limits.min_side_px || height_px < limits.min_side_px)
        return failed(
            Fault::input, name,
            fmt::format("{}: {} x {} px", tr_later("the picture is too small"), width_px, height_px),
            fmt::format("{}: ≥ {} px", tr_later("give a larger one"), limits.min_side_px));
    return {};
}

tl::unexpected<Error> too_many_pixels(const std::string& name, const DecodeLimits& limits) {
    return failed(
        Fault::input, name,
        fmt::format("{}: {}", tr_later("the picture has more pixels than allowed"), words_for(limits)),
        "give the photo as the camera saved it");
}

tl::unexpected<Error> cut_short(const std::string& name) {
    return failed(Fault::input, name, "the file ends in the middle of the picture",
                  "copy it from the camera again");
}

tl::unexpected<Error> damaged(const std::string& name, std::string_view words) {
    return failed(Fault::input, name, fmt::format("{}: {}", tr_later("the picture is damaged"), words),
                  "copy it from the camera again");
}

Result<void> decode_rows(std::span<const std::byte> bytes, const std::string& name,
                         const DecodeLimits& limits, RowTaker& taker) {
    if (bytes.empty())
        return failed(Fault::input, name, "the file is empty", "copy it from the camera again");
    if (bytes.size() > limits.max_bytes)
        return tl::make_unexpected(too_large(name, limits.max_bytes).error());
    switch (format_of(bytes)) {
        case Format::jpeg:
            return decode_jpeg(bytes, name, limits, taker);
        case Format::png:
            return decode_png(bytes, name, limits, taker);
        case Format::heic:
            return decode_heic(bytes, name, limits, taker);
        case Format::other:
            break;
    }
    return failed(Fault::input, name, "this is not a JPEG, PNG or HEIC picture",
                  "give the photo as the camera saved it");
}

Result<Photo> decode(std::span<const std::byte> bytes, const std::string& name, const DecodeLimits& limits) {
    FrameOfRows rows;
    if (auto read = decode_rows(bytes, name, limits, rows); !read)
        return tl::make_unexpected(std::move(read.error()));
    return rows.photo(sha256_hex(bytes));
}

ExifFacts exif_facts(std::span<const std::byte> bytes) {
    switch (format_of(bytes)) {
        case Format::jpeg:
            return read_exif(exif_in_jpeg(bytes));
        case Format::png:
            return read_exif(exif_in_png(bytes));
        case Format::heic:
            return read_exif(exif_in_heic(bytes));
        case Format::other:
            break;
    }
    return {};
}

Photo load(const std::string& path, const DecodeLimits& limits) {
    namespace fs = std::filesystem;
    std::error_code fault;
    const fs::file_status status = fs::status(path, fault);
    if (!fs::exists(status)) throw Failure(Fault::input, path, "there is no such file", "check its name");
    if (!fs::is_regular_file(status))
        throw Failure(Fault::input, path, "this is a folder or device, not a photo", "name one picture file");
    if (fs::file_size(path, fault) > limits.max_bytes) throw too_large(path, limits.max_bytes);

    std::ifstream file(path, std::ios::binary | std::ios::ate);
    cv::Mat bytes;
    if (file && file.tellg() > 0) {
        bytes = new_frame(1, static_cast<int>(file.tellg()), CV_8UC1);
        file.seekg(0);
        file.read(bytes.ptr<char>(), static_cast<std::streamsize>(bytes.total()));
    }
    if (!file) throw Failure(Fault::input, path, "the file cannot be read", "check its permissions");
    return value_or_throw(decode_apart(std::as_bytes(std::span(bytes.data, bytes.total())), path, limits));
}

}  // namespace frayhold::photo
