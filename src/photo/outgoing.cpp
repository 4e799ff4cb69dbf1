// SPDX-License-Identifier: Apache-2.0
#include "photo/outgoing.h"

#include <libexif/exif-data.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <memory>

#include "language/later.h"
#include "photo/big_endian.h"
#include "photo/decoder.h"
#include "photo/encode.h"
#include "photo/png_chunk.h"

namespace frayhold::photo {
namespace {

using Bytes = std::vector<std::byte>;
using View = std::span<const std::byte>;

bool begins_with(View bytes, std::string_view sign) {
    const auto wanted = std::as_bytes(std::span(sign.data(), sign.size()));
    return bytes.size() >= wanted.size() && std::equal(wanted.begin(), wanted.end(), bytes.begin());
}

void append(Bytes& out, View more) {
    out.insert(out.end(), more.begin(), more.end());
}

// ---- Exif ----

struct Unref {
    void operator()(ExifData* data) const { exif_data_unref(data); }
};
using Data = std::unique_ptr<ExifData, Unref>;

constexpr std::array kept_of_picture{EXIF_TAG_MAKE,         EXIF_TAG_MODEL,        EXIF_TAG_ORIENTATION,
                                     EXIF_TAG_X_RESOLUTION, EXIF_TAG_Y_RESOLUTION, EXIF_TAG_RESOLUTION_UNIT,
                                     EXIF_TAG_DATE_TIME};
constexpr std::array kept_of_exposure{EXIF_TAG_EXIF_VERSION,
                                      EXIF_TAG_DATE_TIME_ORIGINAL,
                                      EXIF_TAG_DATE_TIME_DIGITIZED,
                                      EXIF_TAG_SUB_SEC_TIME_ORIGINAL,
                                      EXIF_TAG_EXPOSURE_TIME,
                                      EXIF_TAG_FNUMBER,
                                      EXIF_TAG_ISO_SPEED_RATINGS,
                                      EXIF_TAG_EXPOSURE_BIAS_VALUE,
                                      EXIF_TAG_FLASH,
                                      EXIF_TAG_FOCAL_LENGTH,
                                      EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM,
                                      EXIF_TAG_DIGITAL_ZOOM_RATIO,
                                      EXIF_TAG_SUBJECT_DISTANCE,
                                      EXIF_TAG_LENS_MAKE,
                                      EXIF_TAG_LENS_MODEL,
                                      EXIF_TAG_LENS_SPECIFICATION,
                                      EXIF_TAG_COLOR_SPACE,
                                      EXIF_TAG_PIXEL_X_DIMENSION,
                                      EXIF_TAG_PIXEL_Y_DIMENSION,
                                      EXIF_TAG_WHITE_BALANCE};
// No kept field needs more; a longer one holds something else.
constexpr unsigned largest_field_bytes = 128;

void keep_only(ExifContent* content, std::span<const ExifTag> kept) {
    const std::span entries(content->entries, content->count);
    for (ExifEntry* entry : std::vector<ExifEntry*>(entries.begin(), entries.end())) {
        const bool known = std::find(kept.begin(), kept.end(), entry->tag) != kept.end();
        if (!known || entry->size > largest_field_bytes) exif_content_remove_entry(content, entry);
    }
}

// "Exif", two zeros and the block; empty where nothing is left of it. upright: the pixels are turned already.
Bytes plain_exif(View tiff, bool upright) {
    if (tiff.empty()) return {};
    const Data data(exif_data_new());
    exif_data_unset_option(data.get(), EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
    constexpr std::string_view head("Exif\0\0", 6);
    Bytes block;
    append(block, std::as_bytes(std::span(head.data(), head.size())));
    append(block, tiff);
    exif_data_load_data(data.get(), reinterpret_cast<const unsigned char*>(block.data()),
                        static_cast<unsigned>(block.size()));
    keep_only(data->ifd[EXIF_IFD_0], kept_of_picture);
    keep_only(data->ifd[EXIF_IFD_EXIF], kept_of_exposure);
    for (const ExifIfd ifd : {EXIF_IFD_1, EXIF_IFD_GPS, EXIF_IFD_INTEROPERABILITY})
        keep_only(data->ifd[ifd], {});
    std::free(data->data);  // the thumbnail, from libexif's own use of malloc
    data->data = nullptr;
    data->size = 0;
    ExifEntry* orientation = exif_content_get_entry(data->ifd[EXIF_IFD_0], EXIF_TAG_ORIENTATION);
    if (upright && orientation != nullptr) exif_content_remove_entry(data->ifd[EXIF_IFD_0], orientation);
    if (data->ifd[EXIF_IFD_0]->count == 0 && data->ifd[EXIF_IFD_EXIF]->count == 0) return {};

    unsigned char* saved = nullptr;
    unsigned size = 0;
    exif_data_save_data(data.get(), &saved, &size);
    const std::unique_ptr<unsigned char, decltype(&std::free)> owner(saved, &std::free);
    const auto* from = reinterpret_cast<const std::byte*>(saved);
    return saved == nullptr ? Bytes{} : Bytes(from, from + size);
}

// ---- JPEG (ITU-T T.81, annex B) ----

constexpr std::byte mark{0xFF};

// A segment of the head: its marker's second byte and the whole of it, marker and length included.
struct Segment {
    unsigned marker = 0;
    View whole;
    [[nodiscard]] View content() const { return whole.subspan(4); }
};

bool has_no_length(unsigned marker) {
    return marker == 0x01 || (marker >= 0xD0 && marker <= 0xD9);
}

// The end of the coded data that begins at `at`: the next marker that is neither a stuffed 0xFF nor a
// restart.
std::size_t end_of_scan(View jpeg, std::size_t at) {
    for (; at + 1 < jpeg.size(); ++at) {
        if (jpeg[at] != mark) continue;
        const auto next = std::to_integer<unsigned>(jpeg[at + 1]);
        if (next != 0x00 && next != 0xFF && !(next >= 0xD0 && next <= 0xD7)) return at;
    }
    return jpeg.size();
}

bool is_kept(const Segment& segment) {
    const bool application = segment.marker >= 0xE0 && segment.marker <= 0xEF;
    if (segment.marker == 0xE0) return begins_with(segment.content(), std::string_view("JFIF\0", 5));
    if (segment.marker == 0xE2) return begins_with(segment.content(), std::string_view("ICC_PROFILE\0", 12));
    if (segment.marker == 0xEE) return begins_with(segment.content(), "Adobe");
    constexpr unsigned comment = 0xFE;
    return !application && segment.marker != comment;
}

// The JFIF segment without the thumbnail it may carry (JFIF 1.02).
void append_jfif(Bytes& out, const Segment& segment) {
    constexpr std::size_t without_thumbnail = 14;  // of the content
    append(out, segment.whole.first(2));
    append_big_endian(out, without_thumbnail + 2, 2);
    append(out, segment.content().first(without_thumbnail - 2));
    append_big_endian(out, 0, 2);
}

void append_exif(Bytes& out, const Bytes& exif) {
    constexpr std::size_t largest_segment = 65'533;
    if (exif.empty() || exif.size() > largest_segment) return;
    out.push_back(mark);
    out.push_back(std::byte{0xE1});
    append_big_endian(out, exif.size() + 2, 2);
    append(out, exif);
}

Result<Bytes> plain_jpeg(View jpeg, const std::string& name) {
    Bytes exif;
    Bytes body;
    Bytes jfif;
    std::size_t at = 2;
    for (;;) {
        while (at + 1 < jpeg.size() && jpeg[at] == mark && jpeg[at + 1] == mark) ++at;  // fill bytes
        if (at + 2 > jpeg.size()) return cut_short(name);
        if (jpeg[at] != mark) return damaged(name, tr_later("a marker is missing"));
        const auto marker = std::to_integer<unsigned>(jpeg[at + 1]);
        constexpr unsigned end_of_image = 0xD9;
        if (marker == end_of_image) break;
        if (has_no_length(marker)) {
            append(body, jpeg.subspan(at, 2));
            at += 2;
            continue;
        }
        if (at + 4 > jpeg.size()) return cut_short(name);
        const std::size_t length = big_endian(jpeg.subspan(at + 2, 2));
        if (length < 2) return damaged(name, tr_later("a segment has no length"));
        if (at + 2 + length > jpeg.size()) return cut_short(name);
        const Segment segment{marker, jpeg.subspan(at, 2 + length)};
        at += 2 + length;
        constexpr unsigned application_0 = 0xE0;
        constexpr unsigned application_1 = 0xE1;
        constexpr std::size_t shortest_jfif = 14;
        constexpr std::string_view exif_name("Exif\0\0", 6);
        if (marker == application_1 && exif.empty() && begins_with(segment.content(), exif_name))
            exif = plain_exif(segment.content().subspan(exif_name.size()), false);
        if (!is_kept(segment)) continue;
        if (marker == application_0) {
            if (jfif.empty() && segment.content().size() >= shortest_jfif) append_jfif(jfif, segment);
            continue;
        }
        append(body, segment.whole);
        constexpr unsigned start_of_scan = 0xDA;
        if (marker == start_of_scan) {
            const std::size_t end = end_of_scan(jpeg, at);
            append(body, jpeg.subspan(at, end - at));
            at = end;
        }
    }
    Bytes out(jpeg.begin(), jpeg.begin() + 2);
    append(out, jfif);
    append_exif(out, exif);
    append(out, body);
    append(out, jpeg.subspan(at, 2));
    return out;
}

// ---- PNG ----

// Chunks that say how the pixels are to be shown.
constexpr std::array<std::string_view, 11> kept_chunks{"IHDR", "PLTE", "IDAT", "IEND", "tRNS", "cHRM",
                                                       "gAMA", "iCCP", "sBIT", "sRGB", "pHYs"};

Result<Bytes> plain_png(View png, const std::string& name) {
    Bytes out(png.begin(), png.begin() + png_signature_bytes);
    std::size_t at = png_signature_bytes;
    for (;;) {
        if (at + png_chunk_frame_bytes > png.size()) return cut_short(name);
        const std::size_t length = big_endian(png.subspan(at, 4));
        if (length > png.size() - at - png_chunk_frame_bytes) return cut_short(name);
        const std::string_view type(reinterpret_cast<const char*>(png.data()) + at + 4, 4);
        const View whole = png.subspan(at, png_chunk_frame_bytes + length);
        if (std::find(kept_chunks.begin(), kept_chunks.end(), type) != kept_chunks.end()) append(out, whole);
        if (type == "eXIf") {
            constexpr std::size_t head_bytes = 6;  // "Exif" and two zeros, which a PNG leaves out
            const Bytes exif = plain_exif(whole.subspan(png_chunk_head_bytes, length), false);
            if (!exif.empty()) append_png_chunk(out, type, View(exif).subspan(head_bytes));
        }
        if (type == "IEND") return out;
        at += whole.size();
    }
}

// ---- HEIC ----

// Its boxes point at one another by place in the file, and may hold what no reader lists: so the picture
// itself is taken out of it.
Result<Bytes> jpeg_of_heic(View heic, const std::string& name) {
    const Result<Photo> decoded = decode(heic, name);
    if (!decoded) return tl::make_unexpected(decoded.error());
    constexpr int quality = 95;
    const Bytes jpeg = encode_jpeg(decoded->bgr, quality);
    Bytes out(jpeg.begin(), jpeg.begin() + 2);
    append_exif(out, plain_exif(exif_in_heic(heic), true));
    append(out, View(jpeg).subspan(2));
    return out;
}

Result<OutgoingCopy> as_copy(Result<Bytes> bytes, std::string_view extension, bool converted) {
    if (!bytes) return tl::make_unexpected(std::move(bytes.error()));
    return OutgoingCopy{*std::move(bytes), extension, converted};
}

}  // namespace

Result<OutgoingCopy> outgoing_copy(std::span<const std::byte> original, const std::string& name) {
    if (begins_with(original, "\xFF\xD8\xFF")) return as_copy(plain_jpeg(original, name), ".jpg", false);
    if (begins_with(original, "\x89PNG\r\n\x1A\n")) return as_copy(plain_png(original, name), ".png", false);
    constexpr std::size_t brand_at = 4;
    if (original.size() > brand_at && begins_with(original.subspan(brand_at), "ftyp"))
        return as_copy(jpeg_of_heic(original, name), ".jpg", true);
    return failed(Fault::input, name, "this is not a JPEG, PNG or HEIC picture",
                  "give the photo as the camera saved it");
}

}  // namespace frayhold::photo
