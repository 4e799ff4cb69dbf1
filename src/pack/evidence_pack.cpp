// SPDX-License-Identifier: Apache-2.0
#include "pack/evidence_pack.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>

#include "criteria/advice.h"
#include "language/tr.h"
#include "pack/case_pdf.h"
#include "pack/pdf_document.h"
#include "photo/decode_apart.h"
#include "photo/encode.h"
#include "record/json.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

using Bytes = std::vector<std::byte>;

// A usable photo, ready to leave the house.
struct OutgoingPhoto {
    int number = 0;
    std::string stem;  // "2-close-up"
    photo::OutgoingCopy copy;
    Bytes marked;  // empty where there is no mark-up
};

std::vector<OutgoingPhoto> outgoing_photos(const PackOrder& order) {
    std::vector<OutgoingPhoto> out;
    for (const record::PhotoEntry& entry : order.letter.file.photos) {
        if (!entry.usable) continue;
        OutgoingPhoto photo;
        photo.number = entry.number;
        photo.stem = fmt::format("{}-{}", entry.number, record::name_of(entry.role));
        std::replace(photo.stem.begin(), photo.stem.end(), '_', '-');
        photo.copy = value_or_throw(
            photo::outgoing_copy_apart(order.kept_bytes(entry.sha256), trf("photo {}", entry.number)));
        if (!entry.markup_sha256.empty()) photo.marked = order.kept_bytes(entry.markup_sha256);
        out.push_back(std::move(photo));
    }
    return out;
}

const Bytes& shown(const OutgoingPhoto& photo) {
    return photo.marked.empty() ? photo.copy.bytes : photo.marked;
}

std::string shown_stem(const OutgoingPhoto& photo) {
    return photo.stem + (photo.marked.empty() ? "" : "-marked");
}

// What is shown of the photo, upright, as a JPEG of at most so many pixels a side. A mark-up is upright
// already and stays as it is where it is small enough.
Bytes scaled_jpeg(const OutgoingPhoto& photo, int most_side_px) {
    if (!photo.marked.empty()) {
        const PictureSize size = jpeg_size(photo.marked);
        if (std::max(size.width_px, size.height_px) <= most_side_px) return photo.marked;
    }
    const photo::Photo decoded = value_or_throw(photo::decode_apart(shown(photo), shown_stem(photo)));
    const double scale =
        std::min(1.0, static_cast<double>(most_side_px) / std::max(decoded.bgr.cols, decoded.bgr.rows));
    cv::Mat small = decoded.bgr;
    if (scale < 1.0) cv::resize(decoded.bgr, small, {}, scale, scale, cv::INTER_AREA);
    constexpr int quality = 88;
    return photo::encode_jpeg(small, quality);
}

// The pictures of the PDF, sharp in print: 124 mm wide at 490 pixels an inch.
std::map<int, CasePicture> pdf_pictures(const std::vector<OutgoingPhoto>& photos) {
    constexpr int most_side_px = 2400;
    std::map<int, CasePicture> pictures;
    for (const OutgoingPhoto& photo : photos)
        pictures[photo.number] = {scaled_jpeg(photo, most_side_px), 1, !photo.marked.empty()};
    return pictures;
}

std::string extension_of(const OutgoingPhoto& photo) {
    return photo.marked.empty() ? std::string(photo.copy.extension) : ".jpg";
}

std::size_t total_size(const std::vector<MailAttachment>& attachments) {
    std::size_t total = 0;
    for (const MailAttachment& attachment : attachments) total += attachment.bytes.size();
    return total;
}

std::vector<MailAttachment> mail_attachments(const PackOrder& order, const Bytes& pdf,
                                             const std::vector<OutgoingPhoto>& photos) {
    const MailAttachment file{order.letter.file.hold.number + ".pdf", "application/pdf", pdf};
    std::vector<MailAttachment> attachments{file};
    for (const OutgoingPhoto& photo : photos) {
        const std::string extension = extension_of(photo);
        attachments.push_back(
            {shown_stem(photo) + extension, extension == ".png" ? "image/png" : "image/jpeg", shown(photo)});
    }
    constexpr std::array sides_px{3200, 2400, 1600, 1100, 800};
    for (const int side_px : sides_px) {
        if (total_size(attachments) <= order.most_mail_bytes) break;
        attachments = {file};
        for (const OutgoingPhoto& photo : photos)
            attachments.push_back({fmt::format("{}-{}px.jpg", shown_stem(photo), side_px), "image/jpeg",
                                   scaled_jpeg(photo, side_px)});
    }
    if (total_size(attachments) > order.most_mail_bytes)
        throw Failure(Fault::input, order.letter.file.hold.number,
                      trf("its file and pictures are larger than the {} MB a mail may have",
                          order.most_mail_bytes / 1'000'000),
                      "raise the limit, or send the pack as a zip another way");
    return attachments;
}

// For a program, and so in English whatever the letter's language.
std::string case_json(const PackOrder& order) {
    const language::Speaking english(nullptr);
    nlohmann::ordered_json json;
    json["caution"] = criteria::caution;
    json["made"] = to_text(order.made);
    json["case"] = record::as_json(order.letter.file);
    // What a maker needs not know.
    for (const char* inward : {"used_by", "supplier", "place", "kit", "note"})
        json["case"]["item"].erase(inward);
    constexpr int indent = 1;
    return json.dump(indent, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

PackFile text_file(const std::string& path, const std::string& text) {
    const auto* from = reinterpret_cast<const std::byte*>(text.data());
    return {path, Bytes(from, from + text.size())};
}

}  // namespace

EvidencePack make_evidence_pack(const PackOrder& order) {
    const std::vector<OutgoingPhoto> photos = outgoing_photos(order);

    CasePdfInput input;
    input.file = order.letter.file;
    input.pictures = pdf_pictures(photos);
    input.questions = asked_questions(order.letter, order.language);
    input.own_words = order.letter.own_words;
    input.outfit = order.letter.outfit;
    input.made = order.made;

    EvidencePack pack;
    pack.pdf = case_pdf(input);
    pack.attachments = mail_attachments(order, pack.pdf, photos);
    for (const OutgoingPhoto& photo : photos) {
        pack.photos.push_back({"photos/" + photo.stem + std::string(photo.copy.extension), photo.copy.bytes});
        if (!photo.marked.empty())
            pack.photos.push_back({"photos/" + photo.stem + "-marked.jpg", photo.marked});
    }
    pack.json = case_json(order);
    if (!input.questions.empty() || !input.own_words.empty()) {
        LetterInput letter = order.letter;
        letter.attachments.clear();
        for (const MailAttachment& attachment : pack.attachments)
            letter.attachments.push_back(attachment.file_name);
        pack.letter = write_letter(letter, order.language);
    }
    return pack;
}

Bag bag_of(const EvidencePack& pack, const PackOrder& order) {
    Bag bag;
    bag.hold_number = order.letter.file.hold.number;
    bag.organization = order.letter.outfit;
    bag.contact = order.letter.keeper;
    bag.description = trf("Evidence for hold {}: item {}", bag.hold_number, order.letter.file.item.mark);
    bag.made = order.made;
    bag.payload = pack.photos;
    bag.payload.push_back({"case.pdf", pack.pdf});
    bag.payload.push_back(text_file("case.json", pack.json));
    if (pack.letter)
        bag.payload.push_back(text_file("letter.txt", pack.letter->subject + "\n\n" + pack.letter->body));
    return bag;
}

}  // namespace frayhold::pack
