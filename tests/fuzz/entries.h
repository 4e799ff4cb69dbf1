// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string_view>

// Everything that reads what strangers made, each with one face: any bytes in. An entry returns whatever the
// bytes are, as what they are or as a refusal in words; anything else is a fault. What must hold of a result
// besides is checked on the spot and ends the process.
namespace frayhold::fuzz {

using Bytes = std::span<const std::byte>;

void decode_photo(Bytes bytes);       // JPEG, PNG and HEIC, and the copy that leaves the house
void read_exif(Bytes bytes);          // an Exif block
void gauge_picture(Bytes bytes);      // the whole of measuring, on any pixels
void read_mail(Bytes bytes);          // MIME, its text and what is told from it
void read_csv(Bytes bytes);           // a register from elsewhere
void read_annotations(Bytes bytes);   // Web Annotations
void read_http_request(Bytes bytes);  // a request as it comes over the wire, up to the gate

struct Entry {
    std::string_view name;
    void (*run)(Bytes);
};

[[nodiscard]] std::span<const Entry> all_entries();

}  // namespace frayhold::fuzz
