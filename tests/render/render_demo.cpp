// SPDX-License-Identifier: Apache-2.0
#include <chrono>
#include <cstdio>
#include <fstream>
#include <string>

#include "render/jpeg_writer.h"
#include "render/render.h"

int main(int argc, char** argv) {
    using namespace frayhold::render;
    const std::string folder = argc > 1 ? argv[1] : ".";
    const int from = argc > 2 ? std::stoi(argv[2]) : 1;
    const int to = argc > 3 ? std::stoi(argv[3]) : 2;
    const int kind = argc > 4 ? std::stoi(argv[4]) : 1;
    for (int seed = from; seed < to; ++seed) {
        SceneChoice choice;
        choice.framing = Framing::card_sixth;
        const Scene scene = random_scene(static_cast<std::uint64_t>(seed), static_cast<SceneKind>(kind), choice);
        const auto t0 = std::chrono::steady_clock::now();
        const Rendered r = render(scene);
        const std::chrono::duration<double> dt = std::chrono::steady_clock::now() - t0;
        std::printf("%d: %.2f s sound %.2f fray %.2f dense %.2f length %.0f\n", seed, dt.count(),
                    r.truth.sound_width.value_or(0), r.truth.fray_width.value_or(0),
                    r.truth.fray_dense_width.value_or(0), r.truth.fray_length.value_or(0));
        const auto bytes = encode_jpeg(r.bgr, 88);
        std::ofstream out(folder + "/" + std::to_string(kind) + "_" + std::to_string(seed) + ".jpg", std::ios::binary);
        out.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    }
    return 0;
}
