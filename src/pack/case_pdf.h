// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "record/case_file.h"
#include "units/date.h"

namespace frayhold::pack {

// The picture that is shown for a photo. It stands in the PDF byte for byte as it is given.
struct CasePicture {
    std::vector<std::byte> jpeg;
    int orientation = 1;  // 1 to 8, as Exif has it: how the stored picture is to be turned to stand upright
    bool marked = false;  // outlines and readings are drawn on it
};

struct CasePdfInput {
    record::CaseFile file;
    std::map<int, CasePicture> pictures;  // by the photo's number; a photo without one is listed in words
    std::vector<std::string> questions;   // to the maker, as the letter asks them
    std::string own_words;                // of the keeper to the maker
    std::string outfit;                   // "Korrel Tree Crew"; may be empty
    Time made{};                          // stands on the first page and in the file as its creation date
};

// The case as A4 pages for a person to read, print and send: item, what was seen and felt, criteria met,
// photos with their readings, questions, earlier findings, journal. Every reading stands with its U; what was
// decided against a rule stands on the first page. The same input gives the same bytes. Throws Failure
// (Fault::input) where a picture is no JPEG.
[[nodiscard]] std::vector<std::byte> case_pdf(const CasePdfInput& input);

}  // namespace frayhold::pack
