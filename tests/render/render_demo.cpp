// SPDX-License-Identifier: Apache-2.0
// render_demo OUT_DIR [FILE]: writes the demo photos and manifest.json, or only the one photo, into a folder.
#include <cstdio>
#include <exception>
#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <string>

#include "render/demo_manifest.h"
#include "render/render.h"

namespace {

namespace render = frayhold::render;

void write(const std::filesystem::path& path, const void* data, std::size_t size) {
    std::ofstream out(path, std::ios::binary);
    out.write(static_cast<const char*>(data), static_cast<std::streamsize>(size));
    out.flush();
    if (!out)
        throw std::runtime_error(path.string() + ": cannot be written; choose a folder you may write to");
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2 || argc > 3) {
        std::fprintf(stderr, "usage: render_demo OUT_DIR [FILE]\n");
        return 2;
    }
    try {
        const std::filesystem::path folder = argv[1];
        const std::string only = argc == 3 ? argv[2] : "";
        std::filesystem::create_directories(folder);
        auto manifest = render::manifest_head();
        bool any = false;
        for (const render::DemoPhoto& photo : render::demo_photos()) {
            if (!only.empty() && photo.file != only) continue;
            const render::Rendered rendered = render::render(photo.scene);
            const auto bytes = render::encode_jpeg(rendered.bgr, photo.quality, photo.exif);
            write(folder / photo.file, bytes.data(), bytes.size());
            manifest["photos"].push_back(render::manifest_entry(photo, rendered.truth));
            std::printf("%s %zu bytes\n", photo.file.c_str(), bytes.size());
            any = true;
        }
        if (!any) {
            std::fprintf(stderr, "%s: there is no demo photo of this name; see manifest.json for the names\n",
                         only.c_str());
            return 3;
        }
        if (only.empty()) {
            const std::string text = manifest.dump(2) + "\n";
            write(folder / "manifest.json", text.data(), text.size());
        }
        return 0;
    } catch (const std::exception& error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 5;
    }
}
