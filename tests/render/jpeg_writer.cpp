// SPDX-License-Identifier: Apache-2.0
#include "render/jpeg_writer.h"

#include <turbojpeg.h>

#include <cmath>
#include <cstdint>
#include <cstring>
#include <memory>
#include <opencv2/core.hpp>
#include <utility>

#include "units/error.h"

namespace frayhold::render {
namespace {

// One image file directory of TIFF 6.0, little-endian; entries must be added in rising order of tag.
class Directory {
  public:
    void text(std::uint16_t tag, const std::string& value) {
        std::string bytes = value;
        bytes.push_back('\0');
        add(tag, 2, static_cast<std::uint32_t>(bytes.size()), bytes);
    }
    void number16(std::uint16_t tag, std::uint16_t value) { add(tag, 3, 1, little(value, 2)); }
    void number32(std::uint16_t tag, std::uint32_t value) { add(tag, 4, 1, little(value, 4)); }
    void bytes(std::uint16_t tag, std::uint16_t type, const std::string& value) {
        add(tag, type, static_cast<std::uint32_t>(value.size()), value);
    }
    void ratios(std::uint16_t tag, const std::vector<std::pair<std::uint32_t, std::uint32_t>>& values) {
        std::string data;
        for (const auto& [over, under] : values) data += little(over, 4) + little(under, 4);
        add(tag, 5, static_cast<std::uint32_t>(values.size()), data);
    }
    [[nodiscard]] std::size_t size() const {
        std::size_t total = 2 + 12 * entries_.size() + 4;
        for (const Entry& entry : entries_)
            if (entry.data.size() > 4) total += entry.data.size() + entry.data.size() % 2;
        return total;
    }
    // As bytes that start at `offset` of the TIFF block.
    [[nodiscard]] std::string at(std::size_t offset) const {
        std::string head = little(static_cast<std::uint32_t>(entries_.size()), 2);
        std::string tail;
        const std::size_t tail_at = offset + 2 + 12 * entries_.size() + 4;
        for (const Entry& entry : entries_) {
            head += little(entry.tag, 2) + little(entry.type, 2) + little(entry.count, 4);
            if (entry.data.size() <= 4) {
                head += entry.data + std::string(4 - entry.data.size(), '\0');
            } else {
                head += little(static_cast<std::uint32_t>(tail_at + tail.size()), 4);
                tail += entry.data;
                if (entry.data.size() % 2 != 0) tail.push_back('\0');
            }
        }
        return head + little(0, 4) + tail;
    }
    [[nodiscard]] bool empty() const { return entries_.empty(); }

    static std::string little(std::uint32_t value, int bytes) {
        std::string out;
        for (int i = 0; i < bytes; ++i) out.push_back(static_cast<char>((value >> (8 * i)) & 255U));
        return out;
    }

  private:
    struct Entry {
        std::uint16_t tag = 0, type = 0;
        std::uint32_t count = 0;
        std::string data;
    };
    void add(std::uint16_t tag, std::uint16_t type, std::uint32_t count, std::string data) {
        entries_.push_back({tag, type, count, std::move(data)});
    }
    std::vector<Entry> entries_;
};

std::vector<std::pair<std::uint32_t, std::uint32_t>> degrees_minutes_seconds(double degrees) {
    const auto thousandths = static_cast<std::uint64_t>(std::llround(std::abs(degrees) * 3'600'000.0));
    return {{static_cast<std::uint32_t>(thousandths / 3'600'000U), 1U},
            {static_cast<std::uint32_t>(thousandths / 60'000U % 60U), 1U},
            {static_cast<std::uint32_t>(thousandths % 60'000U), 1000U}};
}

std::string app1_block(const ExifToWrite& exif, cv::Size stored) {
    Directory main;
    if (!exif.make.empty()) main.text(0x010F, exif.make);
    if (!exif.model.empty()) main.text(0x0110, exif.model);
    main.number16(0x0112, static_cast<std::uint16_t>(exif.orientation));
    main.ratios(0x011A, {{72U, 1U}});
    main.ratios(0x011B, {{72U, 1U}});
    main.number16(0x0128, 2);
    if (!exif.artist.empty()) main.text(0x013B, exif.artist);
    main.number16(0x0213, 1);

    Directory camera;
    camera.bytes(0x9000, 7, "0230");
    if (!exif.taken.empty()) camera.text(0x9003, exif.taken);
    camera.bytes(0x9101, 7, std::string("\x01\x02\x03\x00", 4));
    if (exif.focal_mm)
        camera.ratios(0x920A, {{static_cast<std::uint32_t>(std::lround(*exif.focal_mm * 1000)), 1000U}});
    camera.bytes(0xA000, 7, "0100");
    camera.number16(0xA001, 1);  // sRGB
    camera.number32(0xA002, static_cast<std::uint32_t>(stored.width));
    camera.number32(0xA003, static_cast<std::uint32_t>(stored.height));
    if (exif.focal_35mm) camera.number16(0xA405, static_cast<std::uint16_t>(*exif.focal_35mm));
    if (!exif.owner.empty()) camera.text(0xA430, exif.owner);

    Directory position;
    if (exif.latitude_deg && exif.longitude_deg) {
        position.bytes(0x0000, 1, std::string("\x02\x03\x00\x00", 4));
        position.text(0x0001, *exif.latitude_deg < 0 ? "S" : "N");
        position.ratios(0x0002, degrees_minutes_seconds(*exif.latitude_deg));
        position.text(0x0003, *exif.longitude_deg < 0 ? "W" : "E");
        position.ratios(0x0004, degrees_minutes_seconds(*exif.longitude_deg));
    }

    constexpr std::size_t main_at = 8;
    const std::size_t pointers = position.empty() ? 1 : 2;
    const std::size_t camera_at = main_at + main.size() + 12 * pointers;
    const std::size_t position_at = camera_at + camera.size();
    main.number32(0x8769, static_cast<std::uint32_t>(camera_at));
    if (!position.empty()) main.number32(0x8825, static_cast<std::uint32_t>(position_at));

    std::string block("Exif\0\0II\x2A\0\x08\0\0\0", 14);
    block += main.at(main_at) + camera.at(camera_at);
    if (!position.empty()) block += position.at(position_at);
    return block;
}

// The raster to store so that applying `orientation` (Exif 2.3, 4.6.4.A) gives the upright picture.
cv::Mat stored_raster(const cv::Mat& upright, int orientation) {
    cv::Mat out;
    switch (orientation) {
        case 2:
            cv::flip(upright, out, 1);
            return out;
        case 3:
            cv::flip(upright, out, -1);
            return out;
        case 4:
            cv::flip(upright, out, 0);
            return out;
        case 5:
            cv::transpose(upright, out);
            return out;
        case 6:
            cv::rotate(upright, out, cv::ROTATE_90_COUNTERCLOCKWISE);
            return out;
        case 7:
            cv::transpose(upright, out);
            cv::flip(out, out, -1);
            return out;
        case 8:
            cv::rotate(upright, out, cv::ROTATE_90_CLOCKWISE);
            return out;
        default:
            return upright;
    }
}

}  // namespace

std::vector<std::byte> encode_jpeg(const cv::Mat& bgr, int quality, const ExifToWrite& exif) {
    const cv::Mat raster = stored_raster(bgr, exif.orientation);
    const std::unique_ptr<void, int (*)(void*)> encoder(tjInitCompress(), tjDestroy);
    unsigned char* data = nullptr;
    unsigned long size = 0;
    const int failed =
        tjCompress2(encoder.get(), raster.ptr<unsigned char>(), raster.cols, static_cast<int>(raster.step),
                    raster.rows, TJPF_BGR, &data, &size, TJSAMP_420, quality, TJFLAG_ACCURATEDCT);
    const std::unique_ptr<unsigned char, void (*)(unsigned char*)> owned(data, tjFree);
    if (failed != 0)
        throw Failure(Fault::outside, "the JPEG encoder", tjGetErrorStr2(encoder.get()),
                      "free some memory and try again");

    const std::string block = app1_block(exif, raster.size());
    const std::size_t marker_length = block.size() + 2;
    std::vector<std::byte> out;
    out.reserve(size + block.size() + 4);
    const auto put = [&out](unsigned value) { out.push_back(static_cast<std::byte>(value)); };
    // Start of image, then APP1 before everything else (Exif 2.3, 4.5.4).
    put(0xFF);
    put(0xD8);
    put(0xFF);
    put(0xE1);
    put(static_cast<unsigned>(marker_length >> 8U));
    put(static_cast<unsigned>(marker_length & 255U));
    for (const char c : block) put(static_cast<unsigned char>(c));
    out.insert(out.end(), reinterpret_cast<const std::byte*>(data) + 2,
               reinterpret_cast<const std::byte*>(data) + size);
    return out;
}

}  // namespace frayhold::render
