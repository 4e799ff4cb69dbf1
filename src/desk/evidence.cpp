// SPDX-License-Identifier: Apache-2.0
#include "store/evidence.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "desk/in_language.h"
#include "desk/inside.h"
#include "desk/item_subject.h"
#include "language/tr.h"
#include "photo/decode_apart.h"
#include "photo/sha256.h"
#include "record/json.h"
#include "record/rules.h"
#include "record/text.h"

// What is found, photographed or stated for a hold.
namespace frayhold::desk {
namespace {

using Transaction = store::Transaction;

// What the journal tells of a photo: outlines and budgets of its readings stand in its report, which is kept
// with it.
nlohmann::ordered_json details_of(const record::PhotoEntry& photo) {
    nlohmann::ordered_json out = record::as_json(photo);
    out.erase("readings");
    nlohmann::ordered_json readings = nlohmann::ordered_json::array();
    for (const gauge::Reading& reading : photo.readings) {
        nlohmann::ordered_json brief = record::as_json(reading);
        brief.erase("outline_px");
        brief.erase("budget");
        readings.push_back(std::move(brief));
    }
    out["readings"] = std::move(readings);
    return out;
}

// The table's words for a kind of finding. Failure (Fault::input) where the table has no such kind for the
// item.
std::string words_for_kind(const criteria::Table& table, const std::string& kind, const record::Item& item) {
    std::vector<std::string> names;
    for (const criteria::FindingKind& known : table.findings(criteria_subject(item.kind))) {
        if (known.name == kind) return known.words;
        names.push_back(known.name);
    }
    throw Failure(Fault::input, trf("finding {}", record::as_plain_text(kind)),
                  trf("no such finding is known for a {}", record::words_for(item.kind)),
                  trf("choose one of {}", fmt::to_string(fmt::join(names, ", "))));
}

void check_order(const PhotoOrder& order) {
    if (order.bytes.empty())
        throw Failure(Fault::input, record::as_plain_text(order.file_name), "the file is empty",
                      "copy the photo again");
}

void refuse_same_photo(const record::CaseFile& file, const std::string& sha256) {
    for (const record::PhotoEntry& photo : file.photos) {
        if (photo.sha256 != sha256) continue;
        throw Failure(Fault::refused, trf("hold {}", file.hold.number),
                      trf("this very photo is already photo {} of the hold, as {}", photo.number,
                          record::words_for(photo.role)),
                      "take another photo for another view");
    }
}

}  // namespace

record::Finding Desk::Inside::weighed_finding(const record::Item& item, record::Finding finding,
                                              Time time) const {
    if (!setup.criteria)
        throw Failure(Fault::outside, tr("criteria"), "no criteria tables are loaded",
                      "check the installation");
    const criteria::Table& table = *setup.criteria;
    need_plain_text(tr("side"), finding.side);
    need_plain_text(tr("words"), finding.words);
    need_plain_text(tr("found by"), finding.found_by);
    if (finding.station &&
        (!(finding.station->value() >= 0.0) || (item.length && *finding.station > *item.length)))
        throw Failure(Fault::input, tr("station"),
                      item.length
                          ? trf("{} is not on the item, which is {} long",
                                record::length_words(*finding.station), record::length_words(*item.length))
                          : trf("{} is not on the item", record::length_words(*finding.station)),
                      "measure it from the marked end");
    finding.kind_words = words_for_kind(table, finding.kind, item);
    if (record::is_blank(finding.found_by)) finding.found_by = setup.who;
    finding.found = time;
    finding.advice.clear();
    const criteria::HandFinding felt{finding.kind, in_english([&] { return record::place_words(finding); })};
    for (const criteria::Advice& advice : criteria::advise({}, {&felt, 1}, table, criteria_about(item)))
        finding.advice.push_back(record::entry_of(advice));
    return finding;
}

record::Finding Desk::add_finding(const std::string& hold, record::Finding finding) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_add_evidence(file));
    finding = inside_->weighed_finding(file.item, std::move(finding), now);
    finding.hold = hold;
    finding = store::insert_finding(inside_->database(), std::move(finding));
    inside_->tell_journal(now, "finding.add", hold, record::as_json(finding));
    inside_->move_by_evidence(hold, now);
    transaction.commit();
    return finding;
}

record::PhotoEntry Desk::add_photo(const std::string& hold, const PhotoOrder& order) {
    inside_->need_person();
    if (!inside_->setup.measure)
        throw Failure(Fault::outside, tr("add photo"), "this desk has no measuring", "open it with one");
    check_order(order);
    const std::string name = record::as_plain_text(order.file_name);
    const record::CaseFile before = case_file(hold);
    need_allowed(record::may_add_evidence(before));
    refuse_same_photo(before, photo::sha256_hex(order.bytes));

    // Measuring takes its time: no transaction is open meanwhile.
    const photo::Photo photo = value_or_throw(photo::decode_apart(order.bytes, name));
    const gauge::Request request = order.request.value_or(usual_request(before.item, order.role));
    const MeasuredPhoto measured = inside_->setup.measure(photo, order, request, before.item);

    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_add_evidence(file));
    refuse_same_photo(file, photo.sha256);
    record::PhotoEntry entry;
    entry.hold = hold;
    entry.role = order.role;
    entry.sha256 = inside_->keep(order.bytes, now);
    entry.file_name = name;
    entry.size_bytes = static_cast<std::int64_t>(order.bytes.size());
    entry.taken = record::as_plain_text(photo.exif.taken);
    const gauge::Quality quality = record::needs_card(order.role)
                                       ? measured.report.quality
                                       : quality_for_looking(measured.report.quality);
    entry.usable = quality.usable;
    entry.reasons = quality.reasons;
    entry.card_found = measured.report.card.has_value();
    entry.report_json = measured.report_json;
    entry.readings = measured.report.readings;
    entry.advice = measured.advice;
    if (!measured.markup.empty()) entry.markup_sha256 = inside_->keep(measured.markup, now);
    entry.added_by = inside_->setup.who;
    entry.added = now;
    entry = store::insert_photo(inside_->database(), std::move(entry));
    inside_->tell_journal(now, "photo.add", hold, details_of(entry));
    inside_->move_by_evidence(hold, now);
    transaction.commit();
    return entry;
}

record::WaivedView Desk::waive_view(const std::string& hold, record::PhotoRole role,
                                    const std::string& reason) {
    inside_->need_person();
    need_plain_text(tr("reason"), reason);
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_waive(file, role, reason));
    record::WaivedView view;
    view.hold = hold;
    view.role = role;
    view.reason = record::trimmed(reason);
    view.waived_by = inside_->setup.who;
    view.waived = now;
    store::insert_waived_view(inside_->database(), view);
    inside_->tell_journal(now, "view.waive", hold, record::as_json(view));
    inside_->move_by_evidence(hold, now);
    transaction.commit();
    return view;
}

record::Hold Desk::mark_ready(const std::string& hold) {
    inside_->need_person();
    const Time now = inside_->now();
    Transaction transaction(inside_->database(), Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_become_ready(file));
    inside_->move_by_evidence(hold, now);
    transaction.commit();
    return inside_->case_file(hold).hold;
}

}  // namespace frayhold::desk
