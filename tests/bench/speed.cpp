// SPDX-License-Identifier: Apache-2.0
// What measuring a photo costs against decoding it, both in this run: a ratio, since machines differ.
// Usage: bench_speed PHOTO... (JPEG)
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <fstream>
#include <iterator>
#include <vector>

#include "gauge/gauge.h"
#include "photo/frame_memory.h"
#include "photo/photo.h"

namespace {

double milliseconds_since(std::chrono::steady_clock::time_point start) {
    return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count();
}

double median(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}

}  // namespace

int main(int argc, char** argv) {
    frayhold::photo::prepare_memory_for_frames();  // as the program does at its start
    for (int a = 1; a < argc; ++a) {
        std::ifstream file(argv[a], std::ios::binary);
        const std::vector<char> text((std::istreambuf_iterator<char>(file)), {});
        const auto bytes = std::as_bytes(std::span(text));
        std::vector<double> decoding, whole;
        constexpr int runs = 7;
        for (int i = 0; i < runs; ++i) {
            const auto start = std::chrono::steady_clock::now();
            const auto photo = frayhold::value_or_throw(frayhold::photo::decode(bytes, argv[a]));
            decoding.push_back(milliseconds_since(start));
            (void)frayhold::gauge::measure(photo.bgr, {});
            whole.push_back(milliseconds_since(start));
        }
        fmt::print("{}: decode {:.0f} ms, decode and measure {:.0f} ms, ratio {:.2f}\n", argv[a],
                   median(decoding), median(whole), median(whole) / median(decoding));
    }
}
