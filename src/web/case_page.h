// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// One hold: item and earlier findings beside the evidence list, what is missing, one next step.
[[nodiscard]] Answer case_page(const Visit& visit, const std::string& hold);

// How far the case is, for a page that waits for a phone's photo: how many photos, how many findings.
[[nodiscard]] Answer case_pulse(const Visit& visit, const std::string& hold);

// What a hand felt; a POST records it.
[[nodiscard]] Answer finding_page(const Visit& visit, const std::string& hold);

// States why a view cannot be had (POST only).
[[nodiscard]] Answer waive_page(const Visit& visit, const std::string& hold);

// What every page of a case shows of it at its top.
[[nodiscard]] nlohmann::json case_head(const record::CaseFile& file);

// Sentences of the program that are kept in the record, in the language in force.
[[nodiscard]] nlohmann::json recorded_lines(const std::vector<std::string>& sentences);

// The item's record, name by name.
[[nodiscard]] nlohmann::json facts_of(const record::Item& item, Date today);
// What a form says that the hands felt. Throws Failure (Fault::input) where no kind is chosen.
[[nodiscard]] record::Finding typed_finding(const Request& request);
[[nodiscard]] nlohmann::json finding_line(const record::Finding& finding);
[[nodiscard]] nlohmann::json earlier_lines(const std::vector<record::EarlierHold>& earlier);
[[nodiscard]] nlohmann::json advice_lines(const std::vector<record::AdviceEntry>& advice);

}  // namespace frayhold::web
