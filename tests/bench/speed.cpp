// SPDX-License-Identifier: Apache-2.0
// What measuring a photo costs against decoding it, both in this run: ratios, since machines differ. Each
// photo is taken as it is and as a camera would have written it, noise and all, since the finer file takes
// longer to decode. Usage: bench_speed FRAYHOLD PHOTO... (the program, and JPEGs of ropes)
#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <opencv2/core.hpp>
#include <string>
#include <vector>

#include "gauge/gauge.h"
#include "photo/frame_memory.h"
#include "photo/photo.h"
#include "render/jpeg_writer.h"

namespace {

using frayhold::photo::Photo;

constexpr int runs = 9;

double milliseconds_since(std::chrono::steady_clock::time_point start) {
    return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
}

double median(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}

std::vector<std::byte> bytes_of(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    const std::vector<char> text((std::istreambuf_iterator<char>(file)), {});
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

// With the noise of a small sensor by daylight, and as finely coded as phones do.
std::vector<std::byte> as_from_a_camera(const Photo& photo) {
    constexpr double noise_levels = 3.0;
    constexpr int quality = 93;
    cv::Mat noise(photo.bgr.size(), CV_16SC3), noisy;
    cv::RNG(1).fill(noise, cv::RNG::NORMAL, 0.0, noise_levels);
    cv::add(photo.bgr, noise, noisy, cv::noArray(), CV_8U);
    frayhold::render::ExifToWrite exif;
    exif.focal_35mm = static_cast<int>(photo.exif.focal_35mm_mm.value_or(26.0));
    exif.orientation = photo.exif.orientation;
    return frayhold::render::encode_jpeg(noisy, quality, exif);
}

// The whole program from its start to its end.
bool run(const std::string& program, const std::string& photo) {
    std::vector<std::string> words{program, "gauge", photo, "--subject", "rope", "--json"};
    std::vector<char*> arguments;
    for (std::string& word : words) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    pid_t process = 0;
    const bool started =
        posix_spawn(&process, program.c_str(), &files, nullptr, arguments.data(), environ) == 0;
    posix_spawn_file_actions_destroy(&files);
    int status = 1;
    return started && waitpid(process, &status, 0) == process && status == 0;
}

bool compare(const std::string& program, const std::string& photo, const std::string& name) {
    const std::vector<std::byte> bytes = bytes_of(photo);
    std::vector<double> decoding, measuring, whole;
    for (int i = 0; i < runs; ++i) {
        auto start = std::chrono::steady_clock::now();
        const Photo decoded = frayhold::value_or_throw(frayhold::photo::decode(bytes, photo));
        decoding.push_back(milliseconds_since(start));
        (void)frayhold::gauge::measure(decoded.bgr, {});
        measuring.push_back(milliseconds_since(start));
        start = std::chrono::steady_clock::now();
        if (!run(program, photo)) return false;
        whole.push_back(milliseconds_since(start));
    }
    const double decode_ms = median(decoding);
    fmt::print(
        "{} ({:.1f} MB): decode {:.0f} ms; decode and measure {:.0f} ms, ratio {:.2f}; whole program {:.0f} "
        "ms, ratio {:.2f}\n",
        name, static_cast<double>(bytes.size()) * 1e-6, decode_ms, median(measuring),
        median(measuring) / decode_ms, median(whole), median(whole) / decode_ms);
    return true;
}

}  // namespace

int main(int argc, char** argv) {
    frayhold::photo::prepare_memory_for_frames();  // as the program does at its start
    const auto from_camera =
        std::filesystem::temp_directory_path() / fmt::format("frayhold-speed-{}.jpg", getpid());
    bool done = argc > 2;
    for (int a = 2; a < argc && done; ++a) {
        const std::filesystem::path photo = argv[a];
        const std::vector<std::byte> bytes =
            as_from_a_camera(frayhold::value_or_throw(frayhold::photo::decode(bytes_of(photo), photo)));
        std::ofstream(from_camera, std::ios::binary)
            .write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
        done =
            compare(argv[1], photo, photo.filename()) && compare(argv[1], from_camera, "  as from a camera");
    }
    std::filesystem::remove(from_camera);
    if (!done) fmt::print("a photo could not be measured\n");
    return done ? 0 : 1;
}
