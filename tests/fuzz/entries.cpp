// SPDX-License-Identifier: Apache-2.0
#include "fuzz/entries.h"

#include <array>
#include <cstdlib>
#include <iostream>
#include <string>

#include "desk/annotations.h"
#include "gauge/gauge.h"
#include "photo/exif.h"
#include "photo/frame_memory.h"
#include "photo/outgoing.h"
#include "photo/photo.h"
#include "post/reply_mail.h"
#include "post/reply_match.h"
#include "record/csv.h"
#include "record/item_csv.h"
#include "record/text.h"

namespace frayhold::fuzz {
namespace {

std::string text_of(Bytes bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

void demand(bool holds, const char* what) {
    if (holds) return;
    std::cerr << "This does not hold: " << what << '\n';
    std::abort();
}

void demand_words(const Error& error) {
    demand(!error.what.empty(), "a refusal says what is wrong");
    demand(record::is_plain_text(error.sentence()), "a refusal is plain text");
}

// Small, so that many are tried.
constexpr photo::DecodeLimits small{
    .max_side_px = 2000, .max_pixels = 1'000'000, .max_bytes = 1'000'000, .min_side_px = 1};

// The bytes as a picture, where they are one; else as pixels.
cv::Mat picture_of(Bytes bytes) {
    photo::DecodeLimits limits = small;
    limits.max_pixels = 400 * 400;
    if (auto photo = photo::decode(bytes, "p", limits)) return photo->bgr;
    constexpr int side_px = 96;
    cv::Mat bgr(side_px, side_px, CV_8UC3, cv::Scalar(128, 128, 128));
    for (std::size_t i = 0; i < bgr.total() * 3 && !bytes.empty(); ++i)
        bgr.data[i] = std::to_integer<unsigned char>(bytes[i % bytes.size()]);
    return bgr;
}

}  // namespace

void decode_photo(Bytes bytes) {
    const auto photo = photo::decode(bytes, "p", small);
    if (!photo) {
        demand_words(photo.error());
    } else {
        demand(photo->bgr.type() == CV_8UC3 && static_cast<long long>(photo->bgr.total()) <= small.max_pixels,
               "a picture is within its limits");
    }
    const auto copy = photo::outgoing_copy(bytes, "p");
    if (!copy) return demand_words(copy.error());
    const auto again = photo::decode(copy->bytes, "copy", small);
    if (!again) return;
    demand(!again->exif.has_position && !again->exif.has_owner, "no position and no owner leaves the house");
}

void read_exif(Bytes bytes) {
    const photo::ExifFacts facts = photo::read_exif(bytes);
    demand(facts.orientation >= 1 && facts.orientation <= 8, "an orientation is one of eight");
    for (const std::string* text : {&facts.make, &facts.model, &facts.lens, &facts.taken})
        demand(record::is_plain_text(*text), "what the camera wrote is plain text");
    static_cast<void>(photo::focal_px_from_exif(facts, {4000, 3000}));
}

void gauge_picture(Bytes bytes) {
    if (bytes.empty()) return;
    const auto choice = std::to_integer<unsigned>(bytes[0]);
    gauge::Request request;
    request.subject = (choice & 1U) != 0 ? gauge::Subject::webbing : gauge::Subject::rope;
    constexpr std::array cards{gauge::CardChoice::automatic, gauge::CardChoice::printed,
                               gauge::CardChoice::id1};
    request.card = cards[choice / 2 % cards.size()];
    if ((choice & 64U) != 0) {
        request.card = gauge::CardChoice::none;
        request.rule = gauge::RuleMark{{cv::Point2d(10, 10), cv::Point2d(80, 12)}, Millimetres(50.0)};
    }
    if ((choice & 128U) != 0) request.nominal = Millimetres(11.0);
    const auto report = gauge::measure(picture_of(bytes.subspan(1)), request);
    if (!report) return demand_words(report.error());
    for (const gauge::Reading& reading : report->readings)
        demand(reading.U >= 0.0 && reading.u >= 0.0, "every reading has its uncertainty");
    demand(report->quality.usable || !report->quality.reasons.empty(), "a photo that is refused is told why");
}

void read_mail(Bytes bytes) {
    try {
        const post::ReplyMail mail = post::parse_reply(bytes, "m.eml");
        demand(record::is_plain_text(mail.text) && record::is_plain_text(mail.subject),
               "a mail's words are plain text");
        for (const post::IncomingAttachment& attachment : mail.attachments)
            demand(attachment.file_name.find('/') == std::string::npos && !attachment.file_name.empty(),
                   "an attachment's name stays in its folder");
        static_cast<void>(post::hold_clues(mail));
    } catch (const Failure& failure) {
        demand_words(failure.error());
    }
}

void read_csv(Bytes bytes) {
    const std::string text = text_of(bytes);
    const auto rows = record::parse_csv(text);
    if (!rows) return demand_words(rows.error());
    std::string again;
    for (const record::CsvRow& row : *rows) again += record::csv_row(row.cells);
    const auto twice = record::parse_csv(again);
    demand(twice.has_value() && twice->size() == rows->size(), "what is written can be read");
    for (std::size_t i = 0; i < rows->size(); ++i)
        demand((*twice)[i].cells == (*rows)[i].cells, "what is read again is what was written");
    if (rows->size() < 2) return;
    record::Item item;
    const std::vector<std::string>& heading = rows->front().cells;
    for (std::size_t i = 0; i < std::min(heading.size(), (*rows)[1].cells.size()); ++i) {
        const std::string field = record::field_for_heading(heading[i]);
        if (field.empty()) continue;
        if (const auto set = record::set_field(item, field, (*rows)[1].cells[i]); !set)
            demand_words(set.error());
    }
}

void read_annotations(Bytes bytes) {
    const auto drawn = desk::drawn_from_annotations(text_of(bytes));
    if (!drawn) return demand_words(drawn.error());
    std::vector<gauge::Reading> readings;
    const std::string page = desk::annotation_page({}, *drawn, readings, "Ida Fenwright", Time{});
    const auto again = desk::drawn_from_annotations(page);
    demand(again.has_value() && again->marks.size() == drawn->marks.size() &&
               again->pins.size() == drawn->pins.size(),
           "what is written can be read");
}

std::span<const Entry> all_entries() {
    static constexpr std::array<Entry, 7> entries{{{"photo", decode_photo},
                                                   {"exif", read_exif},
                                                   {"gauge", gauge_picture},
                                                   {"mail", read_mail},
                                                   {"csv", read_csv},
                                                   {"annotations", read_annotations},
                                                   {"http", read_http_request}}};
    return entries;
}

}  // namespace frayhold::fuzz
