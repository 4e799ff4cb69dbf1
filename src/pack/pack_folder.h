// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include "units/date.h"

// The evidence pack as a BagIt bag (RFC 8493): a folder that sha256sum can prove whole, or the same in one
// zip.
namespace frayhold::pack {

struct PackFile {
    std::string
        path;  // relative, parts of letters, digits, dots, dashes and underscores: "photos/2-close-up.jpg"
    std::vector<std::byte> bytes;
};

// What goes into the bag's data folder, and what its label says.
struct Bag {
    std::string hold_number;   // External-Identifier, and the name of the folder inside a zip
    std::string organization;  // Source-Organization; left out where empty
    std::string contact;       // Contact-Name; left out where empty
    std::string description;   // External-Description, one line
    Time made{};               // Bagging-Date is its day; the zip's entries carry it
    std::vector<PackFile> payload;
};

// Every file of the bag, sorted by path: the payload below "data/", bagit.txt, bag-info.txt,
// manifest-sha256.txt and tagmanifest-sha256.txt. The same bag gives the same files. Throws Failure
// (Fault::input) for a path that could leave the bag or be misread, or that occurs twice.
[[nodiscard]] std::vector<PackFile> bag_files(const Bag& bag);

// Writes the bag as a new folder: whole, or not at all. Throws Failure: Fault::input where the folder exists
// already or its parent does not; Fault::outside where the disk fails.
void write_pack_folder(const std::filesystem::path& folder, const Bag& bag);

// The bag in one zip below a folder named by the hold. The same bag gives the same bytes. Throws Failure
// (Fault::outside) where libzip fails.
[[nodiscard]] std::vector<std::byte> pack_zip(const Bag& bag);

}  // namespace frayhold::pack
