// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "desk/asking.h"
#include "language/languages.h"
#include "pack/evidence_pack.h"
#include "record/case_file.h"
#include "units/date.h"

// A case put together for the maker, with the letters that come with the program.
namespace frayhold::desk {

// What the maker is asked, and by whom.
struct LetterOrder {
    std::string language = "en";
    std::vector<std::string> questions;  // keys of pack::letter_questions()
    std::string substance;               // the ink or cleaner that question "cleaner" is about
    std::string own_words;
    std::string keeper;  // who signs
    std::string outfit;  // may be empty
    std::optional<Date> reply_by;
    std::optional<std::int64_t>
        mail_limit_bytes;  // of the whole mail as it is sent; what is usual where empty
};

// Throws Failure (Fault::usage) where there is no letter in that language.
[[nodiscard]] pack::PackOrder pack_order(const record::CaseFile& file, const LetterOrder& order,
                                         const KeptBytes& bytes, Time made);

// The pack in the language of its letter, or in English where there is no catalogue for that. `languages` may
// be null.
[[nodiscard]] pack::EvidencePack case_pack(const pack::PackOrder& order, language::Languages* languages);

// The query as a message: the letter, with the case as PDF and its pictures attached. The same case, order,
// person and time give the same bytes.
[[nodiscard]] ComposedQuery compose_query(const record::CaseFile& file, const QueryOrder& order,
                                          const KeptBytes& bytes, const std::string& who, Time now);

}  // namespace frayhold::desk
