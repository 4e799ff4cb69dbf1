// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <filesystem>
#include <opencv2/core/mat.hpp>
#include <span>
#include <string>
#include <vector>

// Small pictures and files for the photo tests.
namespace samples {

// A folder of its own, gone at the end.
class Folder {
  public:
    Folder();
    ~Folder();
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
    [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }
    [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  private:
    std::filesystem::path path_;
};

// Smooth colours with some noise, so that every path of a decoder is used; the same at every call.
[[nodiscard]] cv::Mat picture(int width, int height);

[[nodiscard]] std::vector<std::byte> bytes_of_text(const std::string& text);
[[nodiscard]] std::vector<std::byte> read(const std::string& path);
void write(const std::string& path, std::span<const std::byte> bytes);

// Runs a shell command, its words thrown away; fails the test where it does not end in 0.
void run(const std::string& command);
// The same, giving what it prints.
[[nodiscard]] std::string output_of(const std::string& command);

// A binary PPM (P6) or PGM (P5) file as BGR.
[[nodiscard]] cv::Mat read_pnm(const std::string& path);

[[nodiscard]] bool same_pixels(const cv::Mat& a, const cv::Mat& b);
// The largest difference of any channel of any pixel.
[[nodiscard]] int largest_difference(const cv::Mat& a, const cv::Mat& b);

}  // namespace samples
