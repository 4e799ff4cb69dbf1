// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "desk/asking.h"
#include "record/case_file.h"

// What leaves the house with a case, for a person to read before it is sent.
namespace frayhold::desk {

// "Photo 2, damage close-up": "the picture, the camera (Korrel C1), when it was taken".
struct DisclosedLine {
    std::string what;
    std::string detail;

    bool operator==(const DisclosedLine&) const = default;
};

struct Disclosure {
    std::vector<DisclosedLine> sent;
    // What the originals and the register hold and no pack or mail does: "Photo 2": "where it was taken".
    std::vector<DisclosedLine> kept_back;
    std::vector<std::string> names;  // of every person who is named in it, sorted
};

// Of a pack or a query made from the case as it stands. `who` signs the letter. A mail carries the PDF and
// the pictures; a pack carries case.json too, which says the same for a program to read. Throws Failure as
// reading a photo does.
[[nodiscard]] Disclosure what_leaves(const record::CaseFile& file, const KeptBytes& bytes,
                                     const std::string& who);

}  // namespace frayhold::desk
