// SPDX-License-Identifier: Apache-2.0
// clang-format off: jpeglib.h leaves this to whoever includes it.
#include <cstdio>
// clang-format on

#include <jpeglib.h>

#include <algorithm>
#include <array>
#include <csetjmp>
#include <string_view>
#include <vector>

#include "photo/big_endian.h"
#include "photo/decoder.h"
#include "photo/exif.h"

namespace frayhold::photo {
namespace {

constexpr std::byte marker_start{0xFF};
constexpr std::byte application_1{0xE1};
constexpr std::byte start_of_scan{0xDA};
constexpr std::array<char, 6> exif_name{'E', 'x', 'i', 'f', '\0', '\0'};

// Four-ink JPEGs hold the inverse of the ink (the habit every reader follows): 255 is no ink.
void bgr_from_inverse_inks(std::span<const JSAMPLE> inks, std::byte* to) {
    for (std::size_t i = 0; i + 4 <= inks.size(); i += 4)
        for (std::size_t channel = 0; channel < 3; ++channel)
            *to++ = static_cast<std::byte>((inks[i + 2 - channel] * inks[i + 3] + 127) / 255);
}

// Rubbish between the last pixel and the end marker, as some cameras leave it, takes nothing from the
// picture.
bool only_rubbish_at_end(std::string_view words) {
    return words.ends_with("extraneous bytes before marker 0xd9");
}

// libjpeg reports by calls: a fault jumps back to where its function was called, a warning is kept, the first
// that matters. Reading goes on after a warning.
struct Reports {
    jpeg_error_mgr calls{};  // first: libjpeg gives a pointer to it back
    std::jmp_buf back{};
    std::array<char, JMSG_LENGTH_MAX> fault{};
    std::array<char, JMSG_LENGTH_MAX> warning{};  // empty where there was none

    static Reports& of(j_common_ptr reader) { return *reinterpret_cast<Reports*>(reader->err); }
};

[[noreturn]] void take_fault(j_common_ptr reader) {
    Reports& reports = Reports::of(reader);
    reports.calls.format_message(reader, reports.fault.data());
    std::longjmp(reports.back, 1);
}

void take_message(j_common_ptr reader, int level) {
    Reports& reports = Reports::of(reader);
    if (level >= 0 || reports.warning.front() != '\0') return;
    reports.calls.format_message(reader, reports.warning.data());
    if (only_rubbish_at_end(reports.warning.data())) reports.warning.front() = '\0';
}

// A progressive picture of thousands of empty scans would keep the reader busy for minutes.
void count_scans(j_common_ptr reader) {
    constexpr int most_scans = 500;
    if (reinterpret_cast<j_decompress_ptr>(reader)->input_scan_number <= most_scans) return;
    Reports& reports = Reports::of(reader);
    constexpr std::string_view words = "more than 500 scans";
    std::copy(words.begin(), words.end(), reports.fault.begin());
    std::longjmp(reports.back, 1);
}

// libjpeg's reader of one picture.
class JpegReader {
  public:
    explicit JpegReader(std::span<const std::byte> bytes) {
        reader_.err = jpeg_std_error(&reports_.calls);
        reports_.calls.error_exit = take_fault;
        reports_.calls.emit_message = take_message;
        progress_.progress_monitor = count_scans;
        opened_ = open(bytes);
    }
    ~JpegReader() { jpeg_destroy_decompress(&reader_); }
    JpegReader(const JpegReader&) = delete;
    JpegReader& operator=(const JpegReader&) = delete;

    // False where the file holds no picture, or a fault was met: see fault().
    [[nodiscard]] bool read_header() {
        if (!opened_ || setjmp(reports_.back) != 0) return false;
        return jpeg_read_header(&reader_, FALSE) == JPEG_HEADER_OK;
    }
    [[nodiscard]] bool read_rows(RowTaker& taker) {
        const bool inks = reader_.jpeg_color_space == JCS_CMYK || reader_.jpeg_color_space == JCS_YCCK;
        if (inks) inks_.resize(static_cast<std::size_t>(reader_.image_width) * 4);
        reader_.out_color_space = inks ? JCS_CMYK : JCS_EXT_BGR;
        reader_.dct_method = JDCT_ISLOW;
        // From here on nothing may need a destructor.
        if (setjmp(reports_.back) != 0) return false;
        jpeg_start_decompress(&reader_);
        const std::size_t row_bytes = static_cast<std::size_t>(reader_.output_width) * 3;
        for (std::span<std::byte> to = taker.next(); !to.empty(); to = taker.next())
            for (; !to.empty(); to = to.subspan(row_bytes)) {
                JSAMPROW row = inks ? inks_.data() : reinterpret_cast<JSAMPROW>(to.data());
                jpeg_read_scanlines(&reader_, &row, 1);
                if (inks) bgr_from_inverse_inks(inks_, to.data());
            }
        jpeg_finish_decompress(&reader_);
        return true;
    }

    [[nodiscard]] int rows() const { return static_cast<int>(reader_.image_height); }
    [[nodiscard]] int columns() const { return static_cast<int>(reader_.image_width); }
    [[nodiscard]] std::string_view fault() const { return reports_.fault.data(); }
    [[nodiscard]] std::string_view warning() const { return reports_.warning.data(); }

  private:
    bool open(std::span<const std::byte> bytes) {
        if (setjmp(reports_.back) != 0) return false;
        jpeg_create_decompress(&reader_);
        reader_.progress = &progress_;
        jpeg_mem_src(&reader_, reinterpret_cast<const unsigned char*>(bytes.data()),
                     static_cast<unsigned long>(bytes.size()));
        return true;
    }

    jpeg_decompress_struct reader_{};
    jpeg_progress_mgr progress_{};
    Reports reports_;
    std::vector<JSAMPLE> inks_;  // one row
    bool opened_ = false;
};

}  // namespace

// The Exif block lies in a marker segment before the picture data (CIPA DC-008, 4.7.2), not always the first
// one.
std::vector<std::byte> exif_in_jpeg(std::span<const std::byte> jpeg) {
    std::size_t at = 2;
    while (at + 4 <= jpeg.size() && jpeg[at] == marker_start) {
        const std::byte marker = jpeg[at + 1];
        if (marker == marker_start) {  // a fill byte
            ++at;
            continue;
        }
        if (marker == start_of_scan) break;
        const std::size_t length = big_endian(jpeg.subspan(at + 2, 2));
        if (length < 2 || at + 2 + length > jpeg.size()) break;
        const auto content = jpeg.subspan(at + 4, length - 2);
        const auto name = std::as_bytes(std::span(exif_name));
        if (marker == application_1 && content.size() > name.size() &&
            std::equal(name.begin(), name.end(), content.begin())) {
            const auto tiff = content.subspan(name.size());
            return {tiff.begin(), tiff.end()};
        }
        at += 2 + length;
    }
    return {};
}

Result<void> decode_jpeg(std::span<const std::byte> bytes, const std::string& name,
                         const DecodeLimits& limits, RowTaker& taker) {
    JpegReader reader(bytes);
    if (!reader.read_header())
        return reader.fault().empty() ? cut_short(name) : damaged(name, reader.fault());
    if (auto fits = check_size(reader.columns(), reader.rows(), name, limits); !fits) return fits;
    taker.begin({reader.rows(), reader.columns(), read_exif(exif_in_jpeg(bytes)), false, "jpeg"});
    if (!reader.read_rows(taker)) return damaged(name, reader.fault());
    // The library fills what is missing with grey; a measured picture must be whole.
    if (reader.warning().find("Premature end of JPEG file") != std::string_view::npos) return cut_short(name);
    if (!reader.warning().empty()) return damaged(name, reader.warning());
    return {};
}

}  // namespace frayhold::photo
