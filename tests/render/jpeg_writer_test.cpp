// SPDX-License-Identifier: Apache-2.0
#include "render/jpeg_writer.h"

#include <turbojpeg.h>

#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace frayhold::render {
namespace {

// Top left red, top right green, bottom right blue, bottom left white; wider than high.
cv::Mat four_colours() {
    cv::Mat picture(96, 160, CV_8UC3);
    picture(cv::Rect(0, 0, 80, 48)).setTo(cv::Scalar(0, 0, 255));
    picture(cv::Rect(80, 0, 80, 48)).setTo(cv::Scalar(0, 255, 0));
    picture(cv::Rect(80, 48, 80, 48)).setTo(cv::Scalar(255, 0, 0));
    picture(cv::Rect(0, 48, 80, 48)).setTo(cv::Scalar(255, 255, 255));
    return picture;
}

char colour_at(const cv::Mat& picture, int row, int column) {
    const auto c = picture.at<cv::Vec3b>(row, column);
    if (c[0] > 128 && c[1] > 128 && c[2] > 128) return 'w';
    return c[0] > 128 ? 'b' : c[1] > 128 ? 'g' : 'r';
}

cv::Mat decoded(const std::vector<std::byte>& bytes) {
    const std::unique_ptr<void, int (*)(void*)> decoder(tjInitDecompress(), tjDestroy);
    const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
    int width = 0;
    int height = 0;
    int sampling = 0;
    int space = 0;
    REQUIRE(tjDecompressHeader3(decoder.get(), data, bytes.size(), &width, &height, &sampling, &space) == 0);
    cv::Mat out(height, width, CV_8UC3);
    REQUIRE(tjDecompress2(decoder.get(), data, bytes.size(), out.data, width, static_cast<int>(out.step),
                          height, TJPF_BGR, 0) == 0);
    return out;
}

nlohmann::json exiftool(const std::vector<std::byte>& bytes, const std::string& options) {
    const auto path = std::filesystem::temp_directory_path() / "frayhold-render-exif-test.jpg";
    {
        std::ofstream out(path, std::ios::binary);
        out.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    }
    const std::string command = "exiftool -j -n " + options + path.string();
    const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
    REQUIRE(pipe);
    std::string text;
    std::array<char, 4096> part{};
    while (const std::size_t n = fread(part.data(), 1, part.size(), pipe.get())) text.append(part.data(), n);
    std::filesystem::remove(path);
    return nlohmann::json::parse(text).at(0);
}

}  // namespace

TEST_CASE("ExifTool reads back every field") {
    ExifToWrite exif;
    exif.make = "Ashmeer Optics";
    exif.model = "Field 3";
    exif.focal_mm = 5.43;
    exif.focal_35mm = 26;
    exif.taken = "2026:02:28 09:30:00";
    exif.latitude_deg = -47.51234;
    exif.longitude_deg = -20.75;
    exif.owner = "Ida Fenwright";
    exif.artist = "Ida Fenwright";
    exif.orientation = 6;
    const auto bytes = encode_jpeg(four_colours(), 90, exif);
    CHECK(exiftool(bytes, "-validate ").at("Validate") == "0 0 0");  // errors, warnings, minor ones
    const auto read = exiftool(bytes, "");
    CHECK(read.at("Make") == "Ashmeer Optics");
    CHECK(read.at("Model") == "Field 3");
    CHECK(read.at("FocalLength").get<double>() == Approx(5.43));
    CHECK(read.at("FocalLengthIn35mmFormat") == 26);
    CHECK(read.at("DateTimeOriginal") == "2026:02:28 09:30:00");
    CHECK(read.at("GPSLatitude").get<double>() == Approx(-47.51234).margin(1e-6));
    CHECK(read.at("GPSLongitude").get<double>() == Approx(-20.75).margin(1e-6));
    CHECK(read.at("OwnerName") == "Ida Fenwright");
    CHECK(read.at("Artist") == "Ida Fenwright");
    CHECK(read.at("Orientation") == 6);
    CHECK(read.at("ExifVersion") == "0230");
}

TEST_CASE("The stored raster is turned as Exif 2.3, 4.6.4.A, tells") {
    // Per orientation: which side of the upright picture the stored row 0 is, and which side the stored
    // column 0 is.
    struct Sides {
        int orientation;
        char row, column;
    };
    constexpr std::array<Sides, 8> told{{{1, 't', 'l'},
                                         {2, 't', 'r'},
                                         {3, 'b', 'r'},
                                         {4, 'b', 'l'},
                                         {5, 'l', 't'},
                                         {6, 'r', 't'},
                                         {7, 'r', 'b'},
                                         {8, 'l', 'b'}}};
    const auto corner = [](char a, char b) {
        const bool top = a == 't' || b == 't';
        const bool left = a == 'l' || b == 'l';
        return top ? (left ? 'r' : 'g') : (left ? 'w' : 'b');
    };
    const auto opposite = [](char side) {
        return side == 't' ? 'b' : side == 'b' ? 't' : side == 'l' ? 'r' : 'l';
    };
    for (const Sides& sides : told) {
        ExifToWrite exif;
        exif.orientation = sides.orientation;
        const cv::Mat stored = decoded(encode_jpeg(four_colours(), 95, exif));
        INFO("orientation " << sides.orientation);
        const int bottom = stored.rows - 9;
        const int right = stored.cols - 9;
        CHECK(colour_at(stored, 8, 8) == corner(sides.row, sides.column));
        CHECK(colour_at(stored, 8, right) == corner(sides.row, opposite(sides.column)));
        CHECK(colour_at(stored, bottom, 8) == corner(opposite(sides.row), sides.column));
        CHECK(stored.cols == (sides.orientation < 5 ? 160 : 96));
    }
}

}  // namespace frayhold::render
