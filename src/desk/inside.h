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
    // Failure (Fault::outside) where this desk cannot read mail.
    void need_reader() const;

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
    // The query went out: a fact that no rule can undo. Moves the hold on and sets the day the reply is due.
    record::Query note_sent(record::CaseFile& file, record::Query query, Time sent,
                            const std::string& sent_by, Time now);
    // Awaited replies that are due on a day or before.
    [[nodiscard]] std::vector<DueReply> replies_due(Date by, Date today, int limit, int offset);
    // The hold a message belongs to; empty where a person has to say.
    [[nodiscard]] std::string hold_meant(const post::HoldClues& clues);
    // Keeps a message with its attachments; gives back what is kept where it is kept already.
    record::Reply keep_reply(const std::string& hold, std::span<const std::byte> message,
                             const ReadReply& read, Time now);
    // A message about a query that nobody knew to be sent proves that it was.
    void settle_by_reply(const std::string& hold, const post::HoldClues& clues, Time now);
    // Adds a reply whose bytes are kept.
    record::Reply add_reply(const record::CaseFile& file, record::Reply reply, Time now);
    // After evidence was added: to 'evidence', and to 'ready' where the list is complete.
    void move_by_evidence(const std::string& hold, Time time);

    Setup setup;
    store::Store store;
};

// Failure (Fault::input) where the hold has no such query.
[[nodiscard]] const record::Query& query_of(const record::CaseFile& file, int number);

// Throws what a rule refuses.
void need_allowed(const Result<void>& rule);

// Failure (Fault::input) that names the field where the text is not UTF-8.
void need_plain_text(const std::string& field, const std::string& text);
// The same, and where there is nothing but blanks.
void need_words(const std::string& field, const std::string& text, const std::string& mend);

}  // namespace frayhold::desk
