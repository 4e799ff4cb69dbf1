// SPDX-License-Identifier: Apache-2.0
#include "photo/exif.h"

#include <libexif/exif-data.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace frayhold::photo {
namespace {

struct Unref {
    void operator()(ExifData* data) const { exif_data_unref(data); }
};
using Data = std::unique_ptr<ExifData, Unref>;

const ExifEntry* entry_of(const ExifData& data, ExifIfd ifd, ExifTag tag) {
    return exif_content_get_entry(data.ifd[ifd], tag);
}

std::string text_of(const ExifData& data, ExifIfd ifd, ExifTag tag) {
    const ExifEntry* entry = entry_of(data, ifd, tag);
    if (entry == nullptr || entry->format != EXIF_FORMAT_ASCII || entry->data == nullptr) return {};
    std::string text(reinterpret_cast<const char*>(entry->data), entry->size);
    text.erase(std::min(text.find('\0'), text.size()));
    for (char& letter : text)
        if (letter < ' ' || letter > '~') letter = '?';
    const std::size_t last = text.find_last_not_of(' ');
    text.erase(last == std::string::npos ? 0 : last + 1);
    text.erase(0, std::min(text.find_first_not_of(' '), text.size()));
    return text;
}

std::optional<double> rational_of(ExifData& data, ExifIfd ifd, ExifTag tag) {
    const ExifEntry* entry = entry_of(data, ifd, tag);
    if (entry == nullptr || entry->format != EXIF_FORMAT_RATIONAL || entry->data == nullptr ||
        entry->size < 8)
        return std::nullopt;
    const ExifRational value = exif_get_rational(entry->data, exif_data_get_byte_order(&data));
    // A numerator of 0 means "unknown" or "not used" for each tag read here.
    if (value.denominator == 0 || value.numerator == 0) return std::nullopt;
    return static_cast<double>(value.numerator) / static_cast<double>(value.denominator);
}

std::optional<int> short_of(ExifData& data, ExifIfd ifd, ExifTag tag) {
    const ExifEntry* entry = entry_of(data, ifd, tag);
    if (entry == nullptr || entry->format != EXIF_FORMAT_SHORT || entry->data == nullptr || entry->size < 2)
        return std::nullopt;
    return exif_get_short(entry->data, exif_data_get_byte_order(&data));
}

// "2026:02:28 09:30:00" to "2026-02-28T09:30:00"; empty where the camera's clock was never set.
std::string iso_time(std::string text) {
    constexpr std::string_view shape = "dddd:dd:dd dd:dd:dd";
    if (text.size() != shape.size()) return {};
    for (std::size_t i = 0; i < shape.size(); ++i) {
        const bool digit = text[i] >= '0' && text[i] <= '9';
        if (shape[i] == 'd' ? !digit : text[i] != shape[i]) return {};
    }
    if (text.starts_with("0000")) return {};
    text[4] = '-';
    text[7] = '-';
    text[10] = 'T';
    return text;
}

bool has_position(const ExifData& data) {
    const ExifContent& gps = *data.ifd[EXIF_IFD_GPS];
    const std::span entries(gps.entries, gps.count);
    constexpr int version_tag = 0x0000;
    return std::any_of(entries.begin(), entries.end(),
                       [](const ExifEntry* entry) { return static_cast<int>(entry->tag) != version_tag; });
}

bool has_owner(const ExifData& data) {
    constexpr std::array people{EXIF_TAG_ARTIST,
                                EXIF_TAG_COPYRIGHT,
                                EXIF_TAG_XP_AUTHOR,
                                EXIF_TAG_CAMERA_OWNER_NAME,
                                EXIF_TAG_BODY_SERIAL_NUMBER,
                                EXIF_TAG_LENS_SERIAL_NUMBER};
    return std::any_of(people.begin(), people.end(), [&](ExifTag tag) {
        return entry_of(data, EXIF_IFD_0, tag) != nullptr || entry_of(data, EXIF_IFD_EXIF, tag) != nullptr;
    });
}

}  // namespace

ExifFacts read_exif(std::span<const std::byte> tiff) {
    ExifFacts facts;
    // Cameras write some kilobytes; a JPEG segment cannot hold more than 64 KB.
    constexpr std::size_t largest_block = 1'000'000;
    if (tiff.empty() || tiff.size() > largest_block) return facts;
    const Data data(exif_data_new());
    // By default the library "completes" what it reads with entries the camera never wrote.
    exif_data_unset_option(data.get(), EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
    constexpr std::array<char, 6> header{'E', 'x', 'i', 'f', '\0', '\0'};
    std::vector<unsigned char> block(header.begin(), header.end());
    for (const std::byte byte : tiff) block.push_back(std::to_integer<unsigned char>(byte));
    exif_data_load_data(data.get(), block.data(), static_cast<unsigned>(block.size()));

    facts.make = text_of(*data, EXIF_IFD_0, EXIF_TAG_MAKE);
    facts.model = text_of(*data, EXIF_IFD_0, EXIF_TAG_MODEL);
    facts.lens = text_of(*data, EXIF_IFD_EXIF, EXIF_TAG_LENS_MODEL);
    facts.focal_mm = rational_of(*data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH);
    if (const auto focal = short_of(*data, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH_IN_35MM_FILM);
        focal && *focal > 0)
        facts.focal_35mm_mm = *focal;
    facts.digital_zoom = rational_of(*data, EXIF_IFD_EXIF, EXIF_TAG_DIGITAL_ZOOM_RATIO);
    facts.taken = iso_time(text_of(*data, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL));
    if (const auto orientation = short_of(*data, EXIF_IFD_0, EXIF_TAG_ORIENTATION);
        orientation && *orientation >= 1 && *orientation <= 8)
        facts.orientation = *orientation;
    facts.has_position = has_position(*data);
    facts.has_owner = has_owner(*data);
    return facts;
}

std::optional<double> focal_px_from_exif(const ExifFacts& facts, cv::Size size_px) {
    constexpr double largest_zoom_taken_for_none = 1.005;
    if (!facts.focal_35mm_mm || facts.digital_zoom.value_or(1.0) > largest_zoom_taken_for_none)
        return std::nullopt;
    const double film_diagonal_mm = std::hypot(36.0, 24.0);
    return *facts.focal_35mm_mm * std::hypot(size_px.width, size_px.height) / film_diagonal_mm;
}

}  // namespace frayhold::photo
