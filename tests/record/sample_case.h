// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "record/case_file.h"
#include "units/date.h"

// A case to begin a test from: the Korrel Tree Crew's rope K-12 with a running life, on a hold just opened.
namespace frayhold::record::sample {

inline constexpr const char* keeper = "Ida Fenwright";
inline constexpr const char* competent_person = "Tomas Oberlyn";

inline Date day(const char* text) {
    return parse_date(text).value();
}
inline Time at(const char* text) {
    return parse_time(text).value();
}

inline const Date today = day("2026-03-02");

inline Item rope() {
    Item item;
    item.mark = "K-12";
    item.serial = "BV-88231";
    item.maker = "Brandel & Voss Ropeworks";
    item.model = "Arbolane 11";
    item.batch = "2021-07";
    item.kind = Kind::rope_low_stretch;
    item.standard = "EN 1891 A";
    item.material = "polyamide";
    item.length = Millimetres(45'000.0);
    item.diameter_or_width = Millimetres(11.0);
    item.sheath_colour = "orange with a blue tracer";
    item.core_colour = "white";
    item.made = day("2021-07-14");
    item.bought = day("2021-09-01");
    item.first_used = day("2021-10-04");
    item.place = "Lower Ashmeer, rack 3";
    item.kit = "climbing kit 2";
    item.life = {12, 10};
    return item;
}

inline CaseFile open_case() {
    CaseFile file;
    file.item = rope();
    file.item.status = ItemStatus::on_hold;
    file.hold.number = "H-2026-0001";
    file.hold.item = file.item.mark;
    file.hold.seen = "fuzzy for a hand's width near the middle";
    file.hold.opened_by = keeper;
    file.hold.opened = at("2026-02-28T09:30:00Z");
    return file;
}

inline void add_photo(CaseFile& file, PhotoRole role, bool usable = true, bool card_found = true) {
    PhotoEntry photo;
    photo.number = static_cast<int>(file.photos.size()) + 1;
    photo.hold = file.hold.number;
    photo.role = role;
    photo.file_name = "IMG_" + std::to_string(photo.number) + ".jpg";
    photo.usable = usable;
    if (!usable) photo.reasons = {"blurred: take it again"};
    photo.card_found = card_found;
    file.photos.push_back(photo);
}

inline void add_all_views(CaseFile& file) {
    for (const PhotoRole role :
         {PhotoRole::label, PhotoRole::whole_item, PhotoRole::close_up, PhotoRole::other_side})
        add_photo(file, role);
}

inline AdviceEntry advice(const std::string& criterion, criteria::Outcome outcome) {
    AdviceEntry entry;
    entry.criterion = criterion;
    entry.outcome = outcome;
    entry.probability = 1.0;
    entry.source = "common practice";
    entry.words = "Words for " + criterion + ".";
    entry.because = "core_area 12.0 ± 2.0 mm², any counts";
    return entry;
}

inline void add_finding(CaseFile& file, const std::string& kind, criteria::Outcome outcome,
                        std::optional<Millimetres> station) {
    Finding finding;
    finding.number = static_cast<int>(file.findings.size()) + 1;
    finding.hold = file.hold.number;
    finding.kind = kind;
    finding.kind_words = "Named " + kind;
    finding.station = station;
    finding.found_by = keeper;
    finding.advice = {advice(kind, outcome)};
    file.findings.push_back(finding);
}

// Asked, and answered where an answer is given.
inline CaseFile asked_case() {
    CaseFile file = open_case();
    add_all_views(file);
    file.hold.state = HoldState::asked;
    Query query;
    query.number = 1;
    query.hold = file.hold.number;
    query.to = "gear@brandelvoss.example";
    query.message_id = "H-2026-0001.1@korrel.example";
    query.sent = at("2026-02-28T11:00:00Z");
    query.sent_by = keeper;
    query.reply_due = day("2026-03-14");
    file.queries = {query};
    return file;
}

inline void add_reply(CaseFile& file) {
    Reply reply;
    reply.number = static_cast<int>(file.replies.size()) + 1;
    reply.hold = file.hold.number;
    reply.from = "gear@brandelvoss.example";
    reply.received = at("2026-03-01T08:00:00Z");
    file.replies.push_back(reply);
}

inline CaseFile answered_case(MakersAnswer given, const std::string& limit = "") {
    CaseFile file = asked_case();
    add_reply(file);
    AnswerEntry answer;
    answer.answer = given;
    answer.limit = limit;
    answer.entered_by = keeper;
    answer.entered = at("2026-03-01T09:00:00Z");
    file.replies.back().answer = answer;
    file.hold.state = HoldState::answered;
    return file;
}

inline Verdict verdict(VerdictKind kind, const std::string& reason = "") {
    Verdict out;
    out.kind = kind;
    out.by = competent_person;
    out.given = at("2026-03-02T10:00:00Z");
    out.reason = reason;
    return out;
}

}  // namespace frayhold::record::sample
