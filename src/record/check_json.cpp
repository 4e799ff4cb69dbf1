// SPDX-License-Identifier: Apache-2.0
#include <nlohmann/json.hpp>

#include "record/json.h"

namespace frayhold::record {
namespace {

using Json = nlohmann::ordered_json;

template <class Value>
Json text_or_null(const std::optional<Value>& value) {
    return value ? Json(to_text(*value)) : Json(nullptr);
}

}  // namespace

Json as_json(const CheckRound& round) {
    Json out{{"number", round.number}};
    if (!round.kit.empty()) out["kit"] = round.kit;
    if (!round.place.empty()) out["place"] = round.place;
    if (round.due_by) out["due_by"] = to_text(*round.due_by);
    out["started_by"] = round.started_by;
    out["started"] = to_text(round.started);
    out["ended"] = text_or_null(round.ended);
    if (round.ended) out["ended_by"] = round.ended_by;
    return out;
}

Json as_json(const ItemCheck& check) {
    Json out{
        {"round", check.round}, {"turn", check.turn}, {"item", check.item}, {"state", name_of(check.state)}};
    if (check.begun) {
        out["begun"] = to_text(*check.begun);
        out["begun_by"] = check.begun_by;
    }
    out["steps"] = Json::array();
    for (const StepDone& step : check.steps) {
        Json entry{{"step", name_of(step.step)}, {"done_by", step.done_by}, {"done", to_text(step.done)}};
        if (!step.words.empty()) entry["words"] = step.words;
        out["steps"].push_back(std::move(entry));
    }
    out["felt"] = Json::array();
    for (const Stretch& stretch : check.felt)
        out["felt"].push_back({{"from_mm", stretch.from_mm}, {"to_mm", stretch.to_mm}});
    out["pauses"] = Json::array();
    for (const CheckPause& pause : check.pauses)
        out["pauses"].push_back(
            {{"paused", to_text(pause.paused)}, {"resumed", text_or_null(pause.resumed)}});
    out["findings"] = Json::array();
    for (const Finding& finding : check.findings) out["findings"].push_back(as_json(finding));
    out["result"] = check.result ? Json(name_of(*check.result)) : Json(nullptr);
    if (!check.words.empty()) out["words"] = check.words;
    out["against"] = check.against;
    out["done"] = text_or_null(check.done);
    if (check.done) out["done_by"] = check.done_by;
    out["next_due"] = text_or_null(check.next_due);
    if (!check.hold.empty()) out["hold"] = check.hold;
    return out;
}

AdviceEntry advice_from_json(const nlohmann::json& json) {
    AdviceEntry entry;
    entry.criterion = json.at("criterion").get<std::string>();
    const auto outcome = criteria::outcome_named(json.at("outcome").get<std::string>());
    if (!outcome) throw nlohmann::json::other_error::create(501, "an unknown outcome", &json);
    entry.outcome = *outcome;
    if (const auto& probability = json.at("probability"); !probability.is_null())
        entry.probability = probability.get<double>();
    entry.source = json.value("source", "");
    entry.words = json.value("words", "");
    entry.because = json.value("because", "");
    entry.borderline = json.at("borderline").get<bool>();
    entry.second_view = json.at("second_view").get<bool>();
    return entry;
}

}  // namespace frayhold::record
