// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "record/case_file.h"
#include "record/check.h"
#include "record/earlier_reading.h"
#include "record/evidence.h"
#include "record/life.h"
#include "record/maker.h"
#include "record/unplaced.h"

// The record as JSON (RFC 8259): the one form in the journal, in packs and on standard output. Names of
// fields are those of the structures; lengths are numbers in mm with "_mm" in the name, dates and times ISO
// 8601 text. What is not recorded is left out, except where the reader must see that it is empty (then null).
namespace frayhold::record {

[[nodiscard]] nlohmann::ordered_json as_json(const Item& item);
[[nodiscard]] nlohmann::ordered_json as_json(const LifeEnd& life);
[[nodiscard]] nlohmann::ordered_json as_json(const AdviceEntry& advice);
[[nodiscard]] nlohmann::ordered_json as_json(const Finding& finding);
[[nodiscard]] nlohmann::ordered_json as_json(const gauge::Reading& reading);
[[nodiscard]] nlohmann::ordered_json as_json(const PhotoEntry& photo);
[[nodiscard]] nlohmann::ordered_json as_json(const PhotoMarks& marks);
[[nodiscard]] nlohmann::ordered_json as_json(const WaivedView& view);
[[nodiscard]] nlohmann::ordered_json as_json(const Hold& hold);
[[nodiscard]] nlohmann::ordered_json as_json(const Posting& posting);
[[nodiscard]] nlohmann::ordered_json as_json(const Query& query);
[[nodiscard]] nlohmann::ordered_json as_json(const AnswerEntry& answer);
[[nodiscard]] nlohmann::ordered_json as_json(const Attachment& attachment);
[[nodiscard]] nlohmann::ordered_json as_json(const Reply& reply);
[[nodiscard]] nlohmann::ordered_json as_json(const UnplacedMail& mail);
[[nodiscard]] nlohmann::ordered_json as_json(const Maker& maker);
[[nodiscard]] nlohmann::ordered_json as_json(const Verdict& verdict);
[[nodiscard]] nlohmann::ordered_json as_json(const JournalEntry& entry);
[[nodiscard]] nlohmann::ordered_json as_json(const RequiredView& view);
[[nodiscard]] nlohmann::ordered_json as_json(const EarlierHold& earlier);
[[nodiscard]] nlohmann::ordered_json as_json(const EarlierReading& earlier);
[[nodiscard]] nlohmann::ordered_json as_json(const CaseFile& file);
[[nodiscard]] nlohmann::ordered_json as_json(const CheckRound& round);
[[nodiscard]] nlohmann::ordered_json as_json(const ItemCheck& check);
// The way back, for advice kept as JSON. Throws nlohmann::json::exception where it is of another form.
[[nodiscard]] AdviceEntry advice_from_json(const nlohmann::json& json);

}  // namespace frayhold::record
