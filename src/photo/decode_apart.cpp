// SPDX-License-Identifier: Apache-2.0
#include "photo/decode_apart.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

#include "photo/decoder.h"
#include "photo/orientation.h"
#include "photo/sha256.h"

namespace frayhold::photo {
namespace {

using Words = std::vector<std::byte>;

// The child's words: texts and numbers one behind the other, in this machine's own form, since both ends are
// the same program.
class Telling {
  public:
    void number(double value) {
        const auto bytes = std::as_bytes(std::span(&value, 1));
        words_.insert(words_.end(), bytes.begin(), bytes.end());
    }
    void text(const std::string& value) {
        number(static_cast<double>(value.size()));
        const auto bytes = std::as_bytes(std::span(value));
        words_.insert(words_.end(), bytes.begin(), bytes.end());
    }
    [[nodiscard]] Words take() { return std::move(words_); }

  private:
    Words words_;
};

// What comes out of a child that a picture may have taken over is trusted no more than the picture: whatever
// is missing or out of range makes the whole of it void.
class Hearing {
  public:
    explicit Hearing(std::span<const std::byte> words) : left_(words) {}

    double number() {
        double value = 0.0;
        if (left_.size() < sizeof value) {
            void_ = true;
            return 0.0;
        }
        std::memcpy(&value, left_.data(), sizeof value);
        left_ = left_.subspan(sizeof value);
        return value;
    }
    int whole(int least, int most) {
        const double value = number();
        if (!(value >= least && value <= most) || value != std::floor(value)) void_ = true;
        return void_ ? least : static_cast<int>(value);
    }
    std::string text() {
        constexpr int most_letters = 4096;
        const auto size = static_cast<std::size_t>(whole(0, most_letters));
        if (void_ || left_.size() < size) {
            void_ = true;
            return {};
        }
        std::string value(reinterpret_cast<const char*>(left_.data()), size);
        left_ = left_.subspan(size);
        return value;
    }
    [[nodiscard]] bool is_void() const { return void_; }
    [[nodiscard]] bool ended() const { return left_.empty(); }

  private:
    std::span<const std::byte> left_;
    bool void_ = false;
};

constexpr int said_error = 0;
constexpr int said_picture = 1;

Words tell(const Error& error) {
    Telling words;
    words.number(said_error);
    words.number(static_cast<double>(error.fault));
    for (const std::string* text : {&error.where, &error.what, &error.mend}) words.text(*text);
    return words.take();
}

double or_nan(const std::optional<double>& value) {
    return value.value_or(std::numeric_limits<double>::quiet_NaN());
}

std::optional<double> number_or_none(double value) {
    if (!std::isfinite(value) || value <= 0.0) return std::nullopt;
    return value;
}

// As read_exif gives it: printable ASCII.
std::string printable(std::string text) {
    for (char& letter : text)
        if (letter < ' ' || letter > '~') letter = '?';
    return text;
}

void tell(Telling& words, const ExifFacts& exif) {
    for (const int number : {exif.orientation, exif.has_position ? 1 : 0, exif.has_owner ? 1 : 0})
        words.number(number);
    for (const auto& number : {exif.focal_mm, exif.focal_35mm_mm, exif.digital_zoom})
        words.number(or_nan(number));
    for (const std::string* text : {&exif.make, &exif.model, &exif.lens, &exif.taken}) words.text(*text);
}

ExifFacts hear_exif(Hearing& words) {
    ExifFacts exif;
    exif.orientation = words.whole(1, 8);
    exif.has_position = words.whole(0, 1) == 1;
    exif.has_owner = words.whole(0, 1) == 1;
    for (std::optional<double>* number : {&exif.focal_mm, &exif.focal_35mm_mm, &exif.digital_zoom})
        *number = number_or_none(words.number());
    for (std::string* text : {&exif.make, &exif.model, &exif.lens, &exif.taken})
        *text = printable(words.text());
    return exif;
}

Words tell(const StoredPicture& picture) {
    Telling words;
    words.number(said_picture);
    for (const int number : {picture.rows, picture.columns, picture.upright_already ? 1 : 0})
        words.number(number);
    words.text(picture.format);
    tell(words, picture.exif);
    return words.take();
}

// Tells a picture's facts, then sends its rows as they come.
class RowsByVoice : public RowTaker {
  public:
    explicit RowsByVoice(ApartVoice& voice) : voice_(voice) {}

    void begin(StoredPicture picture) override {
        row_bytes_ = static_cast<std::size_t>(picture.columns) * 3;
        bytes_left_ = static_cast<std::size_t>(picture.rows) * row_bytes_;
        voice_.say(tell(picture), bytes_left_);
    }
    std::span<std::byte> next() override {
        voice_.send_room(given_bytes_);
        given_bytes_ = 0;
        if (bytes_left_ == 0) return {};
        const std::span<std::byte> room = voice_.room();
        given_bytes_ = std::min(room.size() / row_bytes_ * row_bytes_, bytes_left_);
        bytes_left_ -= given_bytes_;
        return room.first(given_bytes_);
    }

  private:
    ApartVoice& voice_;
    std::size_t row_bytes_ = 0;
    std::size_t bytes_left_ = 0;   // not given room for yet
    std::size_t given_bytes_ = 0;  // filled by the time of the next call
};

// What a picture is but for its pixels, and how it is turned. Empty where that cannot be.
struct HeardPicture {
    ExifFacts exif;
    std::string format;
    std::optional<UprightFrame> frame;
    std::size_t words_bytes = 0;  // that told of it
};

HeardPicture hear_picture(Hearing& words, const DecodeLimits& limits) {
    HeardPicture stored;
    const int rows = words.whole(limits.min_side_px, limits.max_side_px);
    const int columns = words.whole(limits.min_side_px, limits.max_side_px);
    const bool upright_already = words.whole(0, 1) == 1;
    stored.format = printable(words.text());
    stored.exif = hear_exif(words);
    const bool fits = static_cast<long long>(rows) * columns <= limits.max_pixels;
    if (!words.is_void() && fits)
        stored.frame.emplace(rows, columns, upright_already ? 1 : stored.exif.orientation, Processors::one);
    return stored;
}

tl::unexpected<Error> hear_error(Hearing& words) {
    const int fault = words.whole(static_cast<int>(Fault::usage), static_cast<int>(Fault::outside));
    std::string where = words.text();
    std::string what = words.text();
    std::string mend = words.text();
    return failed(static_cast<Fault>(fault), std::move(where), std::move(what), std::move(mend));
}

tl::unexpected<Error> broken(const std::string& name, ApartEnd end) {
    if (end == ApartEnd::not_started)
        return failed(Fault::outside, name, "a process of its own to read it could not be started",
                      "close other programs and try again");
    return failed(Fault::input, name, "reading it took too much time or memory, or broke the reader",
                  "take the photo again, or save it as a plain JPEG");
}

// Why the child gave no picture; nothing where it says that it has one.
std::optional<Error> fault_of(const ApartResult& result, Hearing& hearing, const std::string& name) {
    if (result.end != ApartEnd::done) return broken(name, result.end).value();
    if (hearing.whole(said_error, said_picture) != said_error) return std::nullopt;
    tl::unexpected<Error> error = hear_error(hearing);
    return hearing.is_void() ? broken(name, ApartEnd::broke).value() : std::move(error).value();
}

}  // namespace

ApartLimits usual_apart_limits(const DecodeLimits& limits) {
    constexpr std::size_t bytes_a_pixel = 12;  // the coded picture's planes, its RGB and ours
    constexpr std::size_t decoder_bytes = 256UL * 1024 * 1024;
    ApartLimits apart;
    apart.child.memory_bytes = static_cast<std::size_t>(limits.max_pixels) * bytes_a_pixel + decoder_bytes;
    apart.child.processor = std::chrono::seconds(60);
    apart.clock = std::chrono::seconds(90);
    return apart;
}

Result<Photo> decode_apart(std::span<const std::byte> bytes, const std::string& name,
                           const DecodeLimits& limits, const ApartLimits& apart) {
    const auto work = [&](ApartVoice& voice) {
        RowsByVoice rows(voice);
        if (auto read = decode_rows(bytes, name, limits, rows); !read) voice.say(tell(read.error()));
    };
    std::optional<HeardPicture> heard;
    const auto place = [&](std::span<const std::byte> words, std::size_t) -> std::span<std::byte> {
        if (!heard) {
            Hearing hearing(words);
            if (hearing.whole(said_error, said_picture) != said_picture) return {};
            heard = hear_picture(hearing, limits);
            heard->words_bytes = words.size();
        }
        return heard->frame ? heard->frame->next() : std::span<std::byte>();
    };
    std::string sha256;
    const ApartResult result = run_apart(work, apart, place, [&] { sha256 = sha256_hex(bytes); });
    // Words after a picture's tell of a fault met among its rows.
    Hearing hearing(
        std::span(result.words).subspan(heard && result.end == ApartEnd::done ? heard->words_bytes : 0));
    if (result.end != ApartEnd::done || !hearing.ended())
        return tl::make_unexpected(
            fault_of(result, hearing, name).value_or(broken(name, ApartEnd::broke).value()));
    Photo photo;
    if (heard && heard->frame) photo.bgr = heard->frame->take();
    if (photo.bgr.empty()) return broken(name, ApartEnd::broke);
    photo.exif = std::move(heard->exif);
    photo.sha256 = std::move(sha256);
    photo.format = std::move(heard->format);
    return photo;
}

Result<Photo> decode_apart(std::span<const std::byte> bytes, const std::string& name,
                           const DecodeLimits& limits) {
    return decode_apart(bytes, name, limits, usual_apart_limits(limits));
}

Result<ExifFacts> exif_facts_apart(std::span<const std::byte> bytes, const std::string& name) {
    const auto work = [&](ApartVoice& voice) {
        Telling words;
        words.number(said_picture);
        tell(words, exif_facts(bytes));
        voice.say(words.take());
    };
    const ApartResult result = run_apart(work, usual_apart_limits());
    Hearing hearing(result.words);
    if (std::optional<Error> fault = fault_of(result, hearing, name))
        return tl::make_unexpected(*std::move(fault));
    ExifFacts exif = hear_exif(hearing);
    if (hearing.is_void()) return broken(name, ApartEnd::broke);
    return exif;
}

Result<OutgoingCopy> outgoing_copy_apart(std::span<const std::byte> original, const std::string& name) {
    const auto work = [&](ApartVoice& voice) {
        const Result<OutgoingCopy> copy = outgoing_copy(original, name);
        if (!copy) {
            voice.say(tell(copy.error()));
            return;
        }
        Telling words;
        words.number(said_picture);
        words.number(copy->converted ? 1 : 0);
        words.text(std::string(copy->extension));
        voice.say(words.take(), copy->bytes.size());
        voice.send(copy->bytes);
    };
    OutgoingCopy heard;
    const auto place = [&](std::span<const std::byte>, std::size_t bulk_bytes) -> std::span<std::byte> {
        constexpr std::size_t most_bytes = 1UL << 30U;
        if (bulk_bytes > most_bytes) return {};
        heard.bytes.resize(bulk_bytes);
        return heard.bytes;
    };
    const ApartResult result = run_apart(work, usual_apart_limits(), place);
    Hearing hearing(result.words);
    if (std::optional<Error> fault = fault_of(result, hearing, name))
        return tl::make_unexpected(*std::move(fault));
    heard.converted = hearing.whole(0, 1) == 1;
    heard.extension = hearing.text() == ".png" ? ".png" : ".jpg";
    if (hearing.is_void()) return broken(name, ApartEnd::broke);
    return heard;
}

}  // namespace frayhold::photo
