// SPDX-License-Identifier: Apache-2.0
#include <png.h>

#include <algorithm>
#include <opencv2/core.hpp>
#include <string_view>

#include "photo/big_endian.h"
#include "photo/decoder.h"
#include "photo/exif.h"
#include "photo/frame_memory.h"
#include "photo/png_chunk.h"

namespace frayhold::photo {
namespace {

struct Chunks {
    bool ended = false;  // by an IEND chunk
    std::vector<std::byte> exif_tiff;
};

Chunks walk(std::span<const std::byte> png) {
    Chunks found;
    std::size_t at = png_signature_bytes;
    while (!found.ended && at + png_chunk_frame_bytes <= png.size()) {
        const std::size_t length = big_endian(png.subspan(at, 4));
        if (length > png.size() - at - png_chunk_frame_bytes) break;
        const std::string_view type(reinterpret_cast<const char*>(png.data()) + at + 4, 4);
        const auto content = png.subspan(at + png_chunk_head_bytes, length);
        if (type == "eXIf") found.exif_tiff.assign(content.begin(), content.end());
        found.ended = type == "IEND";
        at += png_chunk_frame_bytes + length;
    }
    return found;
}

// libpng's simplified reader keeps its state here; it must be freed whatever happens.
struct Reader {
    png_image image{};
    Reader() { image.version = PNG_IMAGE_VERSION; }
    Reader(const Reader&) = delete;
    Reader& operator=(const Reader&) = delete;
    ~Reader() { png_image_free(&image); }
};

}  // namespace

std::vector<std::byte> exif_in_png(std::span<const std::byte> bytes) {
    return walk(bytes).exif_tiff;
}

Result<void> decode_png(std::span<const std::byte> bytes, const std::string& name, const DecodeLimits& limits,
                        RowTaker& taker) {
    Reader reader;
    if (png_image_begin_read_from_memory(&reader.image, bytes.data(), bytes.size()) == 0)
        return damaged(name, reader.image.message);
    if (auto fits = check_size(reader.image.width, reader.image.height, name, limits); !fits) return fits;
    const Chunks chunks = walk(bytes);
    if (!chunks.ended) return cut_short(name);

    const int rows = static_cast<int>(reader.image.height), columns = static_cast<int>(reader.image.width);
    taker.begin({rows, columns, read_exif(chunks.exif_tiff), false, "png"});
    reader.image.format = PNG_FORMAT_BGR;
    // The simplified reader gives the whole picture at once: straight to where it belongs if there is room
    // for all of it, else by way of a frame.
    std::span<std::byte> to = taker.next();
    const std::size_t all = static_cast<std::size_t>(rows) * static_cast<std::size_t>(columns) * 3;
    const cv::Mat frame = to.size() == all ? cv::Mat() : new_frame(rows, columns, CV_8UC3);
    const png_color white{255, 255, 255};
    if (png_image_finish_read(&reader.image, &white,
                              frame.empty() ? static_cast<void*>(to.data()) : frame.data, columns * 3,
                              nullptr) == 0)
        return damaged(name, reader.image.message);
    const auto* from = reinterpret_cast<const std::byte*>(frame.data);
    for (; !to.empty(); to = taker.next()) {
        if (frame.empty()) continue;
        std::copy_n(from, to.size(), to.begin());
        from += to.size();
    }
    return {};
}

}  // namespace frayhold::photo
