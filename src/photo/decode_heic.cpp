// SPDX-License-Identifier: Apache-2.0
#include <libheif/heif.h>

#include <memory>

#include "language/later.h"
#include "photo/big_endian.h"
#include "photo/decoder.h"
#include "photo/exif.h"

namespace frayhold::photo {
namespace {

struct Free {
    void operator()(heif_context* context) const { heif_context_free(context); }
    void operator()(heif_image_handle* handle) const { heif_image_handle_release(handle); }
    void operator()(heif_image* image) const { heif_image_release(image); }
    void operator()(heif_decoding_options* options) const { heif_decoding_options_free(options); }
};

template <class T>
using Owned = std::unique_ptr<T, Free>;

// An Exif item starts with the distance of its TIFF header, 32 bits, high byte first (ISO/IEC 23008-12,
// A.2.1).
std::vector<std::byte> exif_of(const heif_image_handle& handle) {
    heif_item_id id = 0;
    if (heif_image_handle_get_list_of_metadata_block_IDs(&handle, "Exif", &id, 1) != 1) return {};
    std::vector<std::byte> block(heif_image_handle_get_metadata_size(&handle, id));
    constexpr std::size_t distance_bytes = 4;
    if (block.size() < distance_bytes) return {};
    if (heif_image_handle_get_metadata(&handle, id, block.data()).code != heif_error_Ok) return {};
    const std::size_t distance = big_endian(std::span(block).first(distance_bytes));
    if (distance >= block.size() - distance_bytes) return {};
    block.erase(block.begin(), block.begin() + static_cast<std::ptrdiff_t>(distance_bytes + distance));
    return block;
}

tl::unexpected<Error> failure(const std::string& name, const heif_error& error, const DecodeLimits& limits) {
    if (error.subcode == heif_suberror_Security_limit_exceeded) return too_many_pixels(name, limits);
    if (error.subcode == heif_suberror_End_of_data) return cut_short(name);
    return damaged(name, error.message);
}

}  // namespace

std::vector<std::byte> exif_in_heic(std::span<const std::byte> bytes) {
    const Owned<heif_context> context(heif_context_alloc());
    heif_image_handle* handle = nullptr;
    if (heif_context_read_from_memory_without_copy(context.get(), bytes.data(), bytes.size(), nullptr).code !=
            heif_error_Ok ||
        heif_context_get_primary_image_handle(context.get(), &handle).code != heif_error_Ok)
        return {};
    return exif_of(*Owned<heif_image_handle>(handle));
}

Result<void> decode_heic(std::span<const std::byte> bytes, const std::string& name,
                         const DecodeLimits& limits, RowTaker& taker) {
    const Owned<heif_context> context(heif_context_alloc());
    // The header's size is checked below; this bounds what the coded picture itself may claim.
    heif_context_set_maximum_image_size_limit(context.get(), limits.max_side_px);
    if (const heif_error error =
            heif_context_read_from_memory_without_copy(context.get(), bytes.data(), bytes.size(), nullptr);
        error.code != heif_error_Ok)
        return failure(name, error, limits);

    heif_image_handle* handle_out = nullptr;
    if (const heif_error error = heif_context_get_primary_image_handle(context.get(), &handle_out);
        error.code != heif_error_Ok)
        return failure(name, error, limits);
    const Owned<heif_image_handle> handle(handle_out);
    if (auto fits = check_size(heif_image_handle_get_width(handle.get()),
                               heif_image_handle_get_height(handle.get()), name, limits);
        !fits)
        return fits;

    const Owned<heif_decoding_options> options(heif_decoding_options_alloc());
    options->convert_hdr_to_8bit = 1;
    options->strict_decoding = 1;
    heif_image* image_out = nullptr;
    if (const heif_error error = heif_decode_image(handle.get(), &image_out, heif_colorspace_RGB,
                                                   heif_chroma_interleaved_RGB, options.get());
        error.code != heif_error_Ok)
        return failure(name, error, limits);
    const Owned<heif_image> image(image_out);

    int stride = 0;
    const uint8_t* plane = heif_image_get_plane_readonly(image.get(), heif_channel_interleaved, &stride);
    const int width = heif_image_get_width(image.get(), heif_channel_interleaved);
    const int height = heif_image_get_height(image.get(), heif_channel_interleaved);
    if (plane == nullptr) return damaged(name, tr_later("no picture plane"));
    if (auto fits = check_size(width, height, name, limits); !fits) return fits;
    taker.begin({height, width, read_exif(exif_of(*handle)), true, "heic"});
    const std::size_t row_bytes = static_cast<std::size_t>(width) * 3;
    const uint8_t* row = plane;
    for (std::span<std::byte> to = taker.next(); !to.empty(); to = taker.next())
        for (; !to.empty(); to = to.subspan(row_bytes), row += stride)
            for (std::size_t i = 0; i < row_bytes; i += 3) {
                to[i] = std::byte{row[i + 2]};
                to[i + 1] = std::byte{row[i + 1]};
                to[i + 2] = std::byte{row[i]};
            }
    return {};
}

}  // namespace frayhold::photo
