// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <span>
#include <string>

#include "record/sample_case.h"
#include "store/checks.h"
#include "store/correspondence.h"
#include "store/evidence.h"
#include "store/holds.h"
#include "store/items.h"
#include "store/journal.h"
#include "store/known_blobs.h"
#include "store/store.h"
#include "store/store_place.h"
#include "store/verdicts.h"

// A store with at least one row in every table: the Korrel Tree Crew's rope K-12, held, asked about and cut
// into two; its sling K-13, untouched.
namespace frayhold::store::sample {

inline std::string keep(Store& store, const std::string& text, Time now) {
    const std::string sha256 = store.blobs().keep(std::as_bytes(std::span(text)));
    know_blob(store.database(), sha256, static_cast<std::int64_t>(text.size()), now);
    return sha256;
}

inline void tell(Store& store, const std::string& action, const std::string& subject) {
    record::JournalEntry entry;
    entry.time = record::sample::at("2026-03-02T08:00:00Z");
    entry.who = record::sample::keeper;
    entry.action = action;
    entry.subject = subject;
    entry.details = "{}";
    append_journal(store.database(), entry);
}

inline record::Item sling() {
    record::Item item;
    item.mark = "K-13";
    item.kind = record::Kind::sewn_sling;
    item.maker = "Kestrel Loom";
    item.model = "Broadleaf 25";
    item.diameter_or_width = Millimetres(25.0);
    return item;
}

inline record::PhotoEntry close_up(const std::string& hold) {
    record::PhotoEntry photo;
    photo.hold = hold;
    photo.role = record::PhotoRole::close_up;
    photo.file_name = "Bild grün 1.jpg";
    photo.size_bytes = 12;
    photo.taken = "2026-02-28T10:00:00";
    photo.usable = true;
    photo.reasons = {"none, really", "\"quoted\""};
    photo.card_found = true;
    photo.report_json = "{\"readings\":[]}";
    photo.readings = {gauge::combine(gauge::Measurand::fray_width, 17.25,
                                     {{"card size", 0.1}, {"edge", 0.2, 12.0}}, {{1.5, 2.25}, {3.0, 4.0}}),
                      gauge::combine(gauge::Measurand::sound_width, 11.02, {{"card size", 0.05}})};
    photo.advice = {record::sample::advice("heavy_fray", criteria::Outcome::hold_and_ask)};
    photo.advice.front().probability = 0.25;
    photo.advice.front().borderline = true;
    photo.added_by = record::sample::keeper;
    photo.added = record::sample::at("2026-02-28T10:05:00Z");
    return photo;
}

inline record::Finding core_seen(const std::string& hold) {
    record::Finding finding;
    finding.hold = hold;
    finding.kind = "core_seen";
    finding.kind_words = "Core seen through the sheath";
    finding.station = Millimetres(12'000.0);
    finding.side = "label side";
    finding.words = "two windows";
    finding.found_by = record::sample::keeper;
    finding.found = record::sample::at("2026-02-28T09:45:00Z");
    finding.advice = {record::sample::advice("core_seen", criteria::Outcome::retire)};
    return finding;
}

// Rows of one whole case, and what was put in, for comparing with what comes out.
struct FilledStore {
    testing::StorePlace place;
    std::unique_ptr<Store> store;
    record::CaseFile expected;
    record::CheckRound round;
    record::ItemCheck check;

    FilledStore() {
        const Time now = record::sample::at("2026-02-28T09:30:00Z");
        store = std::make_unique<Store>(place.location, now);
        Database& database = store->database();
        Transaction transaction(database, Transaction::Purpose::write);
        expected.item = record::sample::rope();
        insert_item(database, expected.item);
        insert_item(database, sling());
        expected.hold = record::sample::open_case().hold;
        expected.hold = insert_hold(database, expected.hold);
        expected.item.status = record::ItemStatus::on_hold;
        update_item(database, expected.item);
        const std::string hold = expected.hold.number;
        expected.findings = {insert_finding(database, core_seen(hold))};
        record::PhotoEntry photo = close_up(hold);
        photo.sha256 = keep(*store, "photo bytes", now);
        photo.markup_sha256 = keep(*store, "markup bytes", now);
        expected.photos = {insert_photo(database, photo)};
        expected.waived = {{hold, record::PhotoRole::label, "label worn off", record::sample::keeper, now}};
        insert_waived_view(database, expected.waived.front());
        fill_correspondence(now);
        fill_verdict();
        fill_check();
        tell(*store, "hold.open", hold);
        tell(*store, "verdict.give", hold);
        transaction.commit();
        expected.journal = search_journal(database, {.subject = hold});
    }

  private:
    void fill_correspondence(Time now) {
        Database& database = store->database();
        const std::string hold = expected.hold.number;
        record::Query query = record::sample::asked_case().queries.front();
        query.hold = hold;
        query.subject = "[H-2026-0001] Arbolane 11";
        query.sha256 = keep(*store, "query bytes", now);
        query.made_by = record::sample::keeper;
        query.made = now;
        query = insert_query(database, query, 14);
        set_query_sent(database, query);
        expected.queries = {query};
        record::Reply reply;
        reply.hold = hold;
        reply.from = "gear@brandelvoss.example";
        reply.subject = "Re: [H-2026-0001] Arbolane 11";
        reply.message_id = "77@brandelvoss.example";
        reply.received = record::sample::at("2026-03-01T08:00:00Z");
        reply.sha256 = keep(*store, "reply bytes", now);
        reply.text = "Schneiden Sie es heraus.\nMit Grüßen";
        reply.attachments = {{"note.pdf", "application/pdf", 9, keep(*store, "pdf bytes", now)}};
        reply.added_by = record::sample::keeper;
        reply = insert_reply(database, reply);
        record::AnswerEntry wrong =
            record::sample::answered_case(record::MakersAnswer::fit).replies[0].answer.value();
        insert_answer(database, hold, reply.number, wrong);
        record::AnswerEntry right = wrong;
        right.answer = record::MakersAnswer::fit_with_limit;
        right.limit = "rigging only";
        right.words = "Schneiden Sie es heraus.";
        insert_answer(database, hold, reply.number, right);
        reply.answer = right;
        expected.replies = {reply};
    }

    // K-13 was checked and is kept and watched.
    void fill_check() {
        Database& database = store->database();
        const Time begun = record::sample::at("2026-02-27T09:00:00Z");
        round.kit = "climbing kit 2";
        round.started_by = record::sample::keeper;
        round.started = begun;
        round = insert_round(database, round);
        check.round = round.number;
        check.turn = 1;
        check.item = "K-13";
        insert_check(database, check);
        check.state = record::CheckState::done;
        check.begun = begun;
        check.begun_by = record::sample::keeper;
        check.steps = {{record::CheckStep::stitching, "pulled gently", record::sample::keeper, begun}};
        insert_step(database, check, check.steps[0]);
        check.felt = {{0.0, 1200.5}};
        insert_stretch(database, check, check.felt[0], record::sample::keeper, begun);
        const record::CheckPause rested{begun + std::chrono::minutes(20), record::sample::keeper,
                                        std::nullopt, ""};
        insert_pause(database, check, rested);
        check.pauses = {rested};
        check.pauses[0].resumed = begun + std::chrono::minutes(30);
        check.pauses[0].resumed_by = record::sample::keeper;
        end_pause(database, check, check.pauses[0]);
        record::Finding gritty = core_seen("");
        gritty.kind = "gritty";
        check.findings = {insert_check_finding(database, check, gritty)};
        check.result = record::CheckResult::keep_and_watch;
        check.words = "wash it";
        check.against = {"Gritty to the touch"};
        check.done = begun + std::chrono::hours(1);
        check.done_by = record::sample::keeper;
        check.next_due = record::sample::day("2027-02-27");
        update_check(database, check);
        set_checked(database, "K-13", record::sample::day("2026-02-27"), *check.next_due);
    }

    void fill_verdict() {
        Database& database = store->database();
        record::Verdict verdict =
            record::sample::verdict(record::VerdictKind::cut_and_keep_parts, "as they said");
        verdict.parts = {{"K-12a", Millimetres(11'500.0)}, {"K-12b", Millimetres(32'500.0)}};
        verdict.scrapped = Millimetres(1'000.0);
        verdict.given_against = {"the maker answered 'fit with a limit': rigging only"};
        for (const record::Part& part : verdict.parts) {
            record::Item item = record::sample::rope();
            item.mark = part.mark;
            item.length = part.length;
            item.parent = expected.item.mark;
            insert_item(database, item);
        }
        insert_verdict(database, expected.hold.number, verdict);
        for (const record::HoldState state : {record::HoldState::evidence, record::HoldState::verdict})
            set_hold_state(database, expected.hold.number, state);
        expected.hold.state = record::HoldState::verdict;
        expected.item.status = record::ItemStatus::retired;
        update_item(database, expected.item);
        expected.verdict = verdict;
    }
};

}  // namespace frayhold::store::sample
