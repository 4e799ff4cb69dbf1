// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "desk/desk.h"
#include "store/store.h"

namespace frayhold::desk {

// What every action of the desk needs. For the files of this folder only.
struct Desk::Inside {
    explicit Inside(Setup given);

    [[nodiscard]] Time now() const;
    [[nodiscard]] store::Database& database() { return store.database(); }

    // Failure (Fault::usage) where nobody is named.
    void need_person() const;

    [[nodiscard]] record::Item item(const std::string& mark) const;
    [[nodiscard]] record::CaseFile case_file(const std::string& hold) const;

    // Within a transaction:
    void tell_journal(Time time, const std::string& action, const std::string& subject,
                      const nlohmann::ordered_json& details);
    // Keeps bytes and makes them known to the database; gives their SHA-256.
    std::string keep(std::span<const std::byte> bytes, Time time);
    void move_hold(record::Hold& hold, record::HoldState to);
    record::Hold open_hold(record::Item item, const std::string& seen, const std::string& batch_note,
                           Time time);
    // Of the life given and the maker's table the shorter.
    void take_makers_life(record::Item& item) const;
    // Checks a finding against item and tables and gives it with its words, finder, time and advice.
    [[nodiscard]] record::Finding weighed_finding(const record::Item& item, record::Finding finding,
                                                  Time time) const;
    record::Verdict give_verdict(const std::string& hold, const VerdictOrder& order, Time time);
    // After evidence was added: to 'evidence', and to 'ready' where the list is complete.
    void move_by_evidence(const std::string& hold, Time time);

    Setup setup;
    store::Store store;
};

// Throws what a rule refuses.
void need_allowed(const Result<void>& rule);

// Failure (Fault::input) that names the field where the text is not UTF-8.
void need_plain_text(const std::string& field, const std::string& text);
// The same, and where there is nothing but blanks.
void need_words(const std::string& field, const std::string& text, const std::string& mend);

}  // namespace frayhold::desk
