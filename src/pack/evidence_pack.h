// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "pack/letter.h"
#include "pack/pack_folder.h"
#include "record/case_file.h"
#include "units/date.h"

// A whole pack from a case: what the folder, the zip and the mail to the maker are made of.
namespace frayhold::pack {

struct PackOrder {
    // The case, the questions, who asks and by when a reply is wished; its list of attachments is set here.
    LetterInput letter;
    LetterTemplate language;
    // Gives the bytes kept under a SHA-256: the originals and the marked-up pictures of the case.
    std::function<std::vector<std::byte>(const std::string& sha256)> kept_bytes;
    Time made{};
    // What the attachments of the mail may come to before they are coded for the post. Most servers take
    // messages of 20 to 25 MB, and coding adds a third (common practice, no source).
    std::size_t most_mail_bytes = 14'000'000;
};

struct MailAttachment {
    std::string file_name;
    std::string media_type;
    std::vector<std::byte> bytes;
};

struct EvidencePack {
    std::vector<std::byte> pdf;
    std::optional<Letter> letter;  // empty where nothing is asked
    std::string json;
    // Of each usable photo its outgoing copy (photo/outgoing.h) and, where there is one, its marked-up
    // picture; full size. "photos/2-close-up.jpg", "photos/2-close-up-marked.jpg".
    std::vector<PackFile> photos;
    // The PDF and a picture of each usable photo, marked where there is one; pictures are scaled down
    // together as far as needed to stay below most_mail_bytes, and then say so in their names:
    // "2-close-up-marked-1600px.jpg".
    std::vector<MailAttachment> attachments;
};

// The same order gives the same bytes. Throws Failure: Fault::input for a photo that cannot be read or, where
// the attachments cannot be made small enough, naming the limit; Fault::usage for a question that is not in
// the list.
[[nodiscard]] EvidencePack make_evidence_pack(const PackOrder& order);

// The pack as it goes into a folder or zip.
[[nodiscard]] Bag bag_of(const EvidencePack& pack, const PackOrder& order);

}  // namespace frayhold::pack
