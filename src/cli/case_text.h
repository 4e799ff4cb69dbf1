// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <iosfwd>
#include <span>

#include "record/advice_entry.h"
#include "record/case_file.h"
#include "units/date.h"

// A hold as a person reads it.
namespace frayhold::cli {

void print_case(std::ostream& out, const record::CaseFile& file, Date today);

// Each line indented; nothing where there is no advice. Ends with the caution.
void print_advice(std::ostream& out, std::span<const record::AdviceEntry> advice, int indent);

void print_verdict(std::ostream& out, const record::Verdict& verdict);

void print_readings(std::ostream& out, std::span<const gauge::Reading> readings, int indent);

// Its day, or where it is in the outbox, or "not sent yet".
[[nodiscard]] std::string sent_words(const record::Query& query);

// "2026-02-28".
[[nodiscard]] std::string day_words(Time time);

}  // namespace frayhold::cli
