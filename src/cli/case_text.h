// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <iosfwd>
#include <span>
#include <string>
#include <vector>

#include "language/speaking.h"
#include "record/advice_entry.h"
#include "record/case_file.h"
#include "units/date.h"

// A hold as a person reads it.
namespace frayhold::cli {

void print_case(std::ostream& out, const record::CaseFile& file, Date today);

// Each line indented; nothing where there is no advice. Ends with the caution.
void print_advice(std::ostream& out, std::span<const record::AdviceEntry> advice, int indent);

// What the advice asks for and where it comes from.
[[nodiscard]] std::string source_words(const record::AdviceEntry& entry);

// Sentences of the record in the language in force: "the photo is blurred; it is too dark".
[[nodiscard]] std::string recorded_words(const std::vector<std::string>& sentences);

// "Verdict of Tomas Oberlyn: retire and destroy".
[[nodiscard]] std::string verdict_words(const record::Verdict& verdict);

// What spoke against the result of a check that was given all the same.
[[nodiscard]] std::string against_words(const std::string& against);

void print_verdict(std::ostream& out, const record::Verdict& verdict);

void print_readings(std::ostream& out, std::span<const gauge::Reading> readings, int indent);

// Its day, or where it is in the outbox, or "not sent yet".
[[nodiscard]] std::string sent_words(const record::Query& query);

// The language in force, or English where a program reads what is printed.
[[nodiscard]] const language::Catalogue* language_for(bool json);

// "2026-02-28".
[[nodiscard]] std::string day_words(Time time);

}  // namespace frayhold::cli
