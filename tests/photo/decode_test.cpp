// SPDX-License-Identifier: Apache-2.0
#include <sys/resource.h>
#include <zlib.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <opencv2/core.hpp>
#include <string>

#include "photo/encode.h"
#include "photo/photo.h"
#include "samples.h"

using frayhold::Fault;
using frayhold::photo::decode;
using frayhold::photo::DecodeLimits;

namespace {

using Bytes = std::vector<std::byte>;

// The sentence of the failure; fails the test where there is none, or where it is no single clear sentence.
std::string refusal(const Bytes& bytes, const DecodeLimits& limits = {}) {
    const auto result = decode(bytes, "rope.jpg", limits);
    REQUIRE_FALSE(result);
    CHECK(result.error().fault == Fault::input);
    CHECK(result.error().where == "rope.jpg");
    CHECK_FALSE(result.error().what.empty());
    CHECK_FALSE(result.error().mend.empty());
    const std::string sentence = result.error().sentence();
    CHECK(sentence.find('\n') == std::string::npos);
    CHECK(sentence.back() != '.');
    return sentence;
}

// The start-of-frame segment of a JPEG holds height, then width (ITU-T T.81, B.2.2).
Bytes with_jpeg_size(Bytes jpeg, unsigned width, unsigned height) {
    for (std::size_t i = 2; i + 9 < jpeg.size(); ++i)
        if (jpeg[i] == std::byte{0xFF} &&
            (jpeg[i + 1] == std::byte{0xC0} || jpeg[i + 1] == std::byte{0xC2})) {
            jpeg[i + 5] = std::byte(height >> 8U);
            jpeg[i + 6] = std::byte(height & 0xFFU);
            jpeg[i + 7] = std::byte(width >> 8U);
            jpeg[i + 8] = std::byte(width & 0xFFU);
            return jpeg;
        }
    FAIL("no start of frame");
    return {};
}

// IHDR is the first chunk of a PNG: width and height at bytes 16 and 20, its check sum at 29 (ISO/IEC
// 15948, 11.2.2).
Bytes with_png_size(Bytes png, unsigned width, unsigned height) {
    const auto put = [&](std::size_t at, unsigned long value) {
        for (std::size_t i = 0; i < 4; ++i) png[at + i] = std::byte(value >> (24U - 8U * i) & 0xFFU);
    };
    put(16, width);
    put(20, height);
    put(29, crc32(0, reinterpret_cast<const Bytef*>(png.data() + 12), 17));
    return png;
}

Bytes jpeg_sample(int width = 320, int height = 240) {
    return frayhold::photo::encode_jpeg(samples::picture(width, height), 90);
}

Bytes png_sample(int width = 320, int height = 240) {
    return frayhold::photo::encode_png(samples::picture(width, height), 10.0);
}

Bytes first(const Bytes& bytes, std::size_t count) {
    return {bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(count)};
}

long peak_memory_kb() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return usage.ru_maxrss;
}

}  // namespace

// First in the file: the peak of a process never falls again.
TEST_CASE("a header of 60,000 x 60,000 pixels is refused before any pixel memory is taken") {
    const long before = peak_memory_kb();
    CHECK(refusal(with_jpeg_size(jpeg_sample(), 60'000, 60'000)).find("60000 x 60000") != std::string::npos);
    CHECK(refusal(with_png_size(png_sample(), 60'000, 60'000)).find("60000 x 60000") != std::string::npos);
    // Within the limit of a side, beyond that of pixels: 19,000 x 19,000.
    CHECK(refusal(with_jpeg_size(jpeg_sample(), 19'000, 19'000)).find("120 MP") != std::string::npos);
    CHECK(peak_memory_kb() - before < 50'000);
}

TEST_CASE("a JPEG and a PNG give the pixels that went in") {
    const cv::Mat bgr = samples::picture(320, 240);
    const auto png = decode(png_sample(), "rope.png");
    REQUIRE(png);
    CHECK(samples::same_pixels(png->bgr, bgr));
    CHECK(png->format == "png");
    const auto jpeg = decode(jpeg_sample(), "rope.jpg");
    REQUIRE(jpeg);
    CHECK(jpeg->bgr.size() == bgr.size());
    CHECK(jpeg->bgr.type() == CV_8UC3);
    CHECK(cv::norm(jpeg->bgr, bgr, cv::NORM_L1) / static_cast<double>(bgr.total() * 3) < 4.0);
    CHECK(jpeg->format == "jpeg");
    CHECK(jpeg->sha256.size() == 64);
    CHECK(jpeg->exif.orientation == 1);
    CHECK_FALSE(jpeg->exif.has_position);
}

TEST_CASE("what is no picture is refused in one sentence") {
    CHECK(refusal({}) == "rope.jpg: the file is empty; copy it from the camera again");
    CHECK(refusal(samples::bytes_of_text("Dear Ida, the rope is on the bench.\n")) ==
          "rope.jpg: this is not a JPEG, PNG or HEIC picture; give the photo as the camera saved it");
    CHECK(refusal(samples::bytes_of_text("\xFF\xD8\xFF")).find("the file ends in the middle") !=
          std::string::npos);
    CHECK(refusal(samples::bytes_of_text("\x89PNG\r\n\x1A\n")).find("damaged") != std::string::npos);
    // A box of type 'ftyp' with the brand 'heic' and nothing behind it.
    std::string heic(
        "\0\0\0\x18"
        "ftypheic\0\0\0\0mif1heic",
        24);
    CHECK_FALSE(refusal(samples::bytes_of_text(heic)).empty());
}

TEST_CASE("a picture of one pixel is refused with the least size") {
    CHECK(refusal(jpeg_sample(1, 1)) ==
          "rope.jpg: the picture is too small: 1 x 1 px; give a larger one: ≥ 64 px");
    CHECK_FALSE(refusal(png_sample(1, 1)).empty());
    CHECK_FALSE(refusal(png_sample(4000, 63)).empty());
    CHECK(decode(png_sample(64, 64), "rope.png"));
}

TEST_CASE("the usual limits are those that docs/limits.md names") {
    const DecodeLimits usual;
    CHECK(usual.max_bytes == 200'000'000);
    CHECK(usual.min_side_px == 64);
    CHECK(usual.max_side_px == 20'000);
    CHECK(usual.max_pixels == 120'000'000);
    CHECK(decode(png_sample(20'000, 64), "rope.png"));
    CHECK(refusal(png_sample(20'001, 64)).find("≤ 20000 px") != std::string::npos);
}

TEST_CASE("a file longer than the limit is refused") {
    DecodeLimits limits;
    limits.max_bytes = 1000;
    CHECK(refusal(jpeg_sample(), limits).find("larger than") != std::string::npos);
}

TEST_CASE("a picture cut short anywhere is an error, never a grey half") {
    const Bytes jpeg = jpeg_sample();
    const Bytes png = png_sample();
    for (int tenth = 0; tenth < 10; ++tenth) {
        const auto part = [&](const Bytes& whole) {
            return first(whole, whole.size() * static_cast<std::size_t>(tenth) / 10);
        };
        CHECK_FALSE(refusal(part(jpeg)).empty());
        CHECK_FALSE(refusal(part(png)).empty());
    }
    CHECK(refusal(first(jpeg, jpeg.size() / 2)) ==
          "rope.jpg: the file ends in the middle of the picture; copy it from the camera again");
    CHECK(refusal(first(png, png.size() / 2)) ==
          "rope.jpg: the file ends in the middle of the picture; copy it from the camera again");
    for (std::size_t missing = 1; missing < 40; ++missing) {
        CHECK_FALSE(refusal(first(jpeg, jpeg.size() - missing)).empty());
        CHECK_FALSE(refusal(first(png, png.size() - missing)).empty());
    }
}

TEST_CASE("damage in the coded picture is an error") {
    Bytes jpeg = jpeg_sample();
    // A restart marker where none belongs.
    jpeg[jpeg.size() / 2] = std::byte{0xFF};
    jpeg[jpeg.size() / 2 + 1] = std::byte{0xD3};
    CHECK(refusal(jpeg).find("damaged") != std::string::npos);
    Bytes png = png_sample();
    png[png.size() / 2] ^= std::byte{0x40};
    CHECK(refusal(png).find("damaged") != std::string::npos);
}

TEST_CASE("bytes after the end of a JPEG, and rubbish before its end marker, take nothing from the picture") {
    const Bytes jpeg = jpeg_sample();
    const cv::Mat whole = decode(jpeg, "rope.jpg")->bgr;
    Bytes longer = jpeg;
    longer.insert(longer.end(), 1000, std::byte{0x55});
    REQUIRE(decode(longer, "rope.jpg"));
    CHECK(samples::same_pixels(decode(longer, "rope.jpg")->bgr, whole));
    Bytes rubbish = jpeg;
    rubbish.insert(rubbish.end() - 2, {std::byte{0x11}, std::byte{0x22}, std::byte{0x33}});
    REQUIRE(decode(rubbish, "rope.jpg"));
    CHECK(samples::same_pixels(decode(rubbish, "rope.jpg")->bgr, whole));
}

TEST_CASE("random damage never gives a crash, only a picture or a sentence") {
    std::srand(7);
    for (const Bytes& whole : {jpeg_sample(96, 80), png_sample(96, 80)})
        for (int round = 0; round < 300; ++round) {
            Bytes bytes = whole;
            for (int hit = 0; hit < 4; ++hit)
                bytes[static_cast<std::size_t>(std::rand()) % bytes.size()] = std::byte(std::rand() & 0xFF);
            const auto result = decode(bytes, "rope.jpg");
            if (!result) CHECK_FALSE(result.error().sentence().empty());
        }
}

TEST_CASE("load names the file and says what is wrong with it") {
    const samples::Folder folder;
    const auto sentence = [](const std::string& path) {
        try {
            (void)frayhold::photo::load(path);
        } catch (const frayhold::Failure& failure) {
            CHECK(failure.error().fault == Fault::input);
            return failure.error().sentence();
        }
        return std::string();
    };
    CHECK(sentence(folder.file("none.jpg")) ==
          folder.file("none.jpg") + ": there is no such file; check its name");
    CHECK(sentence(folder.path()) ==
          folder.path().string() + ": this is a folder or device, not a photo; name one picture file");
    CHECK(sentence("/dev/zero").find("not a photo") != std::string::npos);
    samples::write(folder.file("empty.jpg"), {});
    CHECK(sentence(folder.file("empty.jpg")).find("the file is empty") != std::string::npos);
    samples::write(folder.file("whole.jpg"), jpeg_sample());
    CHECK(frayhold::photo::load(folder.file("whole.jpg")).bgr.cols == 320);
}
