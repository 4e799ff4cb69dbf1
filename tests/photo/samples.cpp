// SPDX-License-Identifier: Apache-2.0
#include "samples.h"

#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <memory>
#include <opencv2/core.hpp>
#include <random>

namespace samples {

Folder::Folder() {
    std::string shape = (std::filesystem::temp_directory_path() / "frayhold-test-XXXXXX").string();
    REQUIRE(mkdtemp(shape.data()) != nullptr);
    path_ = shape;
}

Folder::~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
}

cv::Mat picture(int width, int height) {
    cv::Mat bgr(height, width, CV_8UC3);
    std::mt19937 random(20260228);
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) {
            const auto noise = static_cast<int>(random() % 17) - 8;
            bgr.at<cv::Vec3b>(y, x) =
                cv::Vec3b(cv::saturate_cast<uchar>(255 * x / width + noise),
                          cv::saturate_cast<uchar>(255 * y / height + noise),
                          cv::saturate_cast<uchar>(((x / 8 + y / 8) % 2) * 160 + 40 + noise));
        }
    return bgr;
}

std::vector<std::byte> bytes_of_text(const std::string& text) {
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

std::vector<std::byte> read(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    REQUIRE(file);
    const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    return bytes_of_text(text);
}

void write(const std::string& path, std::span<const std::byte> bytes) {
    std::ofstream file(path, std::ios::binary);
    file.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    REQUIRE(file.flush());
}

void run(const std::string& command) {
    INFO(command);
    REQUIRE(std::system((command + " >/dev/null 2>&1").c_str()) == 0);
}

std::string output_of(const std::string& command) {
    INFO(command);
    const auto close = [](FILE* pipe) { pclose(pipe); };
    const std::unique_ptr<FILE, decltype(close)> pipe(popen(command.c_str(), "r"), close);
    REQUIRE(pipe);
    std::string text;
    std::array<char, 4096> piece{};
    while (const std::size_t count = std::fread(piece.data(), 1, piece.size(), pipe.get()))
        text.append(piece.data(), count);
    return text;
}

cv::Mat read_pnm(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    std::string kind;
    int width = 0;
    int height = 0;
    int largest = 0;
    file >> kind >> width >> height >> largest;
    file.get();
    REQUIRE((kind == "P6" || kind == "P5"));
    REQUIRE(largest == 255);
    const int channels = kind == "P6" ? 3 : 1;
    std::string samples(static_cast<std::size_t>(width) * static_cast<std::size_t>(height * channels), '\0');
    file.read(samples.data(), static_cast<std::streamsize>(samples.size()));
    REQUIRE(file);
    cv::Mat bgr(height, width, CV_8UC3);
    std::size_t at = 0;
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x)
            for (int c = 0; c < 3; ++c) {
                bgr.at<cv::Vec3b>(y, x)[2 - c] = static_cast<uchar>(samples[at]);
                if (channels == 3 || c == 2) ++at;
            }
    return bgr;
}

bool same_pixels(const cv::Mat& a, const cv::Mat& b) {
    return a.size() == b.size() && a.type() == b.type() && largest_difference(a, b) == 0;
}

int largest_difference(const cv::Mat& a, const cv::Mat& b) {
    return static_cast<int>(cv::norm(a, b, cv::NORM_INF));
}

}  // namespace samples
