// SPDX-License-Identifier: Apache-2.0
#include "record/json.h"

#include <cmath>
#include <nlohmann/json.hpp>

namespace frayhold::record {
namespace {

using Json = nlohmann::ordered_json;

void put(Json& out, const char* name, const std::string& text) {
    if (!text.empty()) out[name] = text;
}

void put(Json& out, const char* name, const std::optional<Date>& date) {
    if (date) out[name] = to_text(*date);
}

void put(Json& out, const char* name, const std::optional<Time>& time) {
    if (time) out[name] = to_text(*time);
}

void put(Json& out, const char* name, const std::optional<Millimetres>& length) {
    if (length) out[name] = length->value();
}

void put(Json& out, const char* name, const std::optional<int>& number) {
    if (number) out[name] = *number;
}

// Infinity has no form in JSON: null stands for "known exactly".
Json finite_or_null(double value) {
    return std::isfinite(value) ? Json(value) : Json(nullptr);
}

template <class Value>
Json list(const std::vector<Value>& values) {
    Json out = Json::array();
    for (const Value& value : values) out.push_back(as_json(value));
    return out;
}

const char* value_name(gauge::UnitOf unit) {
    switch (unit) {
        case gauge::UnitOf::millimetre:
            return "value_mm";
        case gauge::UnitOf::square_millimetre:
            return "value_mm2";
        case gauge::UnitOf::one:
            break;
    }
    return "value";
}

}  // namespace

Json as_json(const Item& item) {
    Json out{{"mark", item.mark}, {"kind", name_of(item.kind)}, {"status", name_of(item.status)}};
    put(out, "limit", item.limit);
    put(out, "serial", item.serial);
    put(out, "maker", item.maker);
    put(out, "supplier", item.supplier);
    put(out, "model", item.model);
    put(out, "batch", item.batch);
    put(out, "standard", item.standard);
    put(out, "material", item.material);
    put(out, "length_mm", item.length);
    put(out, "diameter_or_width_mm", item.diameter_or_width);
    put(out, "sheath_colour", item.sheath_colour);
    put(out, "core_colour", item.core_colour);
    put(out, "made", item.made);
    put(out, "bought", item.bought);
    put(out, "first_used", item.first_used);
    put(out, "place", item.place);
    put(out, "kit", item.kit);
    put(out, "used_by", item.used_by);
    if (item.use != UseRate::unknown) out["use"] = name_of(item.use);
    put(out, "life_years_from_made", item.life.years_from_made);
    put(out, "life_years_from_first_use", item.life.years_from_first_use);
    put(out, "life_source", item.life.source);
    put(out, "parent", item.parent);
    put(out, "note", item.note);
    return out;
}

Json as_json(const LifeEnd& life) {
    Json out{{"state", name_of(life.state)}, {"words", life.words}};
    put(out, "over_from", life.over_from);
    return out;
}

Json as_json(const AdviceEntry& advice) {
    Json out{{"criterion", advice.criterion}, {"outcome", criteria::name_of(advice.outcome)}};
    out["probability"] = advice.probability ? Json(*advice.probability) : Json(nullptr);
    put(out, "source", advice.source);
    put(out, "words", advice.words);
    put(out, "because", advice.because);
    out["borderline"] = advice.borderline;
    out["second_view"] = advice.second_view;
    return out;
}

Json as_json(const Finding& finding) {
    Json out{{"number", finding.number}, {"kind", finding.kind}};
    put(out, "kind_words", finding.kind_words);
    put(out, "station_mm", finding.station);
    put(out, "side", finding.side);
    put(out, "words", finding.words);
    out["found_by"] = finding.found_by;
    out["found"] = to_text(finding.found);
    out["advice"] = list(finding.advice);
    return out;
}

Json as_json(const gauge::Reading& reading) {
    Json out{{"quantity", gauge::name_of(reading.measurand)}};
    out[value_name(gauge::unit_of(reading.measurand))] = reading.value;
    out["u"] = reading.u;
    out["U"] = reading.U;
    out["k"] = reading.k;
    out["dof"] = finite_or_null(reading.dof);
    Json outline = Json::array();
    for (const cv::Point2d& point : reading.outline_px) outline.push_back({point.x, point.y});
    out["outline_px"] = outline;
    Json budget = Json::array();
    for (const gauge::BudgetLine& line : reading.budget)
        budget.push_back({{"source", line.source}, {"u", line.u}, {"dof", finite_or_null(line.dof)}});
    out["budget"] = budget;
    return out;
}

Json as_json(const PhotoEntry& photo) {
    Json out{{"number", photo.number},
             {"role", name_of(photo.role)},
             {"sha256", photo.sha256},
             {"file_name", photo.file_name},
             {"size_bytes", photo.size_bytes}};
    put(out, "taken", photo.taken);
    out["usable"] = photo.usable;
    out["reasons"] = photo.reasons;
    out["card_found"] = photo.card_found;
    out["readings"] = list(photo.readings);
    out["advice"] = list(photo.advice);
    put(out, "markup_sha256", photo.markup_sha256);
    out["added_by"] = photo.added_by;
    out["added"] = to_text(photo.added);
    return out;
}

Json as_json(const PhotoMarks& marks) {
    return {{"hold", marks.hold},       {"photo", marks.photo},
            {"turn", marks.turn},       {"annotations", Json::parse(marks.annotations)},
            {"made_by", marks.made_by}, {"made", to_text(marks.made)}};
}

Json as_json(const WaivedView& view) {
    return {{"role", name_of(view.role)},
            {"reason", view.reason},
            {"waived_by", view.waived_by},
            {"waived", to_text(view.waived)}};
}

Json as_json(const Hold& hold) {
    Json out{{"number", hold.number}, {"item", hold.item},           {"state", name_of(hold.state)},
             {"seen", hold.seen},     {"opened_by", hold.opened_by}, {"opened", to_text(hold.opened)}};
    put(out, "batch_note", hold.batch_note);
    return out;
}

Json as_json(const Posting& posting) {
    Json out{{"state", name_of(posting.state)},
             {"queued", to_text(posting.queued)},
             {"queued_by", posting.queued_by}};
    put(out, "next_try", posting.next_try);
    Json tries = Json::array();
    for (const PostTry& one : posting.tries) {
        Json each{{"number", one.number}, {"started", to_text(one.started)}};
        put(each, "handing_over", one.handing_over);
        put(each, "ended", one.ended);
        if (one.code != 0) each["code"] = one.code;
        put(each, "words", one.words);
        tries.push_back(std::move(each));
    }
    out["tries"] = tries;
    return out;
}

Json as_json(const Query& query) {
    Json out{{"number", query.number},         {"to", query.to},         {"subject", query.subject},
             {"message_id", query.message_id}, {"sha256", query.sha256}, {"made_by", query.made_by},
             {"made", to_text(query.made)}};
    put(out, "sent", query.sent);
    put(out, "sent_by", query.sent_by);
    put(out, "reply_due", query.reply_due);
    if (query.posting) out["posting"] = as_json(*query.posting);
    return out;
}

Json as_json(const AnswerEntry& answer) {
    Json out{{"answer", name_of(answer.answer)}};
    put(out, "limit", answer.limit);
    put(out, "words", answer.words);
    out["entered_by"] = answer.entered_by;
    out["entered"] = to_text(answer.entered);
    return out;
}

Json as_json(const Attachment& attachment) {
    return {{"file_name", attachment.file_name},
            {"media_type", attachment.media_type},
            {"size_bytes", attachment.size_bytes},
            {"sha256", attachment.sha256}};
}

Json as_json(const Reply& reply) {
    Json out{{"number", reply.number},
             {"from", reply.from},
             {"subject", reply.subject},
             {"message_id", reply.message_id},
             {"received", to_text(reply.received)},
             {"way", name_of(reply.way)},
             {"sha256", reply.sha256},
             {"text", reply.text},
             {"attachments", list(reply.attachments)},
             {"automatic", reply.automatic},
             {"added_by", reply.added_by}};
    put(out, "delivery", reply.delivery);
    out["answer"] = reply.answer ? as_json(*reply.answer) : Json(nullptr);
    return out;
}

Json as_json(const UnplacedMail& mail) {
    Json out{{"number", mail.number},
             {"from", mail.from},
             {"subject", mail.subject},
             {"received", to_text(mail.received)},
             {"why", mail.why},
             {"fetched_by", mail.fetched_by},
             {"fetched", to_text(mail.fetched)}};
    put(out, "sha256", mail.sha256);
    put(out, "text", mail.text);
    put(out, "hold", mail.hold);
    put(out, "set_aside", mail.set_aside);
    put(out, "settled_by", mail.settled_by);
    put(out, "settled", mail.settled);
    return out;
}

Json as_json(const Maker& maker) {
    Json out{{"name", maker.name}, {"addresses", maker.addresses}, {"language", maker.language}};
    if (maker.mail_limit_bytes) out["mail_limit_bytes"] = *maker.mail_limit_bytes;
    if (maker.reply_days) out["reply_days"] = *maker.reply_days;
    put(out, "note", maker.note);
    return out;
}

Json as_json(const Verdict& verdict) {
    Json out{{"kind", name_of(verdict.kind)}, {"by", verdict.by}, {"given", to_text(verdict.given)}};
    put(out, "reason", verdict.reason);
    put(out, "limit", verdict.limit);
    if (!verdict.parts.empty()) {
        Json parts = Json::array();
        for (const Part& part : verdict.parts)
            parts.push_back({{"mark", part.mark}, {"length_mm", part.length.value()}});
        out["parts"] = parts;
    }
    put(out, "scrapped_mm", verdict.scrapped);
    put(out, "witness", verdict.witness);
    out["override"] = verdict.is_override();
    out["given_against"] = verdict.given_against;
    return out;
}

Json as_json(const JournalEntry& entry) {
    Json details = Json::parse(entry.details, nullptr, false);
    if (details.is_discarded()) details = entry.details;
    return {{"number", entry.number},
            {"time", to_text(entry.time)},
            {"who", entry.who},
            {"action", entry.action},
            {"subject", entry.subject},
            {"details", details},
            {"salt", entry.salt},
            {"who_seal", entry.who_seal},
            {"details_seal", entry.details_seal},
            {"rows", entry.rows},
            {"previous_hash", entry.previous_hash},
            {"hash", entry.hash}};
}

Json as_json(const RequiredView& view) {
    const char* state = "missing";
    if (view.state == ViewState::unusable) state = "unusable";
    if (view.state == ViewState::present) state = "present";
    if (view.state == ViewState::waived) state = "waived";
    return {{"role", name_of(view.role)}, {"state", state}, {"words", view.words}};
}

Json as_json(const EarlierHold& earlier) {
    Json out{{"hold", as_json(earlier.hold)}, {"findings", list(earlier.findings)}};
    out["verdict"] = earlier.verdict ? as_json(*earlier.verdict) : Json(nullptr);
    return out;
}

Json as_json(const EarlierReading& earlier) {
    return {{"photo", earlier.photo},
            {"hold", earlier.hold},
            {"earlier_photo", earlier.earlier_photo},
            {"earlier_added", to_text(earlier.earlier_added)},
            {"before", as_json(earlier.before)},
            {"change", as_json(earlier.change)}};
}

Json as_json(const CaseFile& file) {
    Json out{{"item", as_json(file.item)},
             {"hold", as_json(file.hold)},
             {"evidence", list(evidence_list(file))},
             {"findings", list(file.findings)},
             {"photos", list(file.photos)},
             {"marks", list(file.marks)},
             {"waived", list(file.waived)},
             {"advice", list(file.all_advice())},
             {"queries", list(file.queries)},
             {"replies", list(file.replies)}};
    out["verdict"] = file.verdict ? as_json(*file.verdict) : Json(nullptr);
    out["earlier"] = list(file.earlier);
    out["earlier_readings"] = list(earlier_readings(file));
    out["checks"] = list(file.checks);
    out["journal"] = list(file.journal);
    out["journal_head"] = file.journal_head;
    return out;
}

}  // namespace frayhold::record
