// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <catch2/catch.hpp>
#include <memory>
#include <string>
#include <vector>

#include "criteria/table.h"
#include "desk/desk.h"
#include "photo/encode.h"
#include "record/sample_case.h"
#include "store/failure_of.h"
#include "store/store_place.h"

// A desk of the Korrel Tree Crew in a folder of its own: the clock stands still unless a test moves it,
// photos are small and measured as the test says, letters and replies are plain text in a form of the test's
// own.
namespace frayhold::desk::sample {

inline std::vector<std::byte> bytes_of(const std::string& text) {
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

inline std::string text_of(std::span<const std::byte> bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

inline std::shared_ptr<const criteria::Table> shipped_criteria() {
    const std::vector<std::filesystem::path> folders{std::string(FRAYHOLD_SOURCE_DIR) +
                                                     "/templates/criteria"};
    return std::make_shared<const criteria::Table>(criteria::load_tables(criteria::table_files(folders)));
}

// A small picture; another shade makes another file.
inline std::vector<std::byte> picture(int shade) {
    constexpr int step = 16;  // JPEG rounds off less
    cv::Mat bgr(80, 100, CV_8UC3, cv::Scalar(shade * step % 256, shade / 16 * step % 256, 90));
    return photo::encode_jpeg(bgr, 90);
}

inline PhotoOrder photo_order(record::PhotoRole role, int shade) {
    PhotoOrder order;
    order.bytes = picture(shade);
    order.file_name = "IMG_" + std::to_string(shade) + ".jpg";
    order.role = role;
    return order;
}

// What the measurer of a test says of the next photos, and what it was asked.
struct Measuring {
    bool usable = true;
    bool card = true;
    double sharpness = 0.4;
    std::vector<gauge::Reading> readings;
    std::vector<record::AdviceEntry> advice;
    bool markup = true;
    std::vector<gauge::Request> asked;

    MeasuredPhoto measure(const photo::Photo& photo, const gauge::Request& request) {
        asked.push_back(request);
        MeasuredPhoto measured;
        measured.report.quality.usable = usable;
        measured.report.quality.sharpness = sharpness;
        if (!usable) measured.report.quality.reasons = {"glare on the card: shade it"};
        if (card) measured.report.card = gauge::CardFit{};
        measured.report.readings = readings;
        measured.report_json = "{\"photo\":\"" + photo.sha256 + "\"}";
        measured.advice = advice;
        if (markup) measured.markup = bytes_of("mark-up of " + photo.sha256);
        return measured;
    }
};

// "id|subject" made into a message; a reply is "id|answers to|subject|text".
inline ComposedQuery compose(const record::CaseFile& file, const QueryOrder& order, const KeptBytes& bytes,
                             const std::string& who, Time now) {
    std::string message = "To " + order.to + " by " + who + " at " + to_text(now) + "\n";
    for (const record::PhotoEntry& photo : file.photos)
        message += std::to_string(bytes(photo.sha256).size()) + "\n";
    const std::string turn = std::to_string(file.queries.size() + 1);
    return {bytes_of(message), file.hold.number + "." + turn + "@korrel.example",
            "[" + file.hold.number + "] " + file.item.model};
}

inline ReadReply read_reply(std::span<const std::byte> message, const std::string& name) {
    const std::string text = text_of(message);
    std::vector<std::string> parts;
    for (std::size_t at = 0, end = 0; end != std::string::npos; at = end + 1) {
        end = text.find('|', at);
        parts.push_back(text.substr(at, end - at));
    }
    if (parts.size() != 4) throw Failure(Fault::input, name, "this is no message", "save it as .eml again");
    ReadReply reply;
    reply.from = "gear@brandelvoss.example";
    reply.message_id = parts[0];
    if (!parts[1].empty()) reply.clues.in_reply_to = {"unknown@elsewhere.example", parts[1]};
    reply.subject = parts[2];
    reply.text = parts[3];
    reply.automatic = parts[2].find("absence") != std::string::npos;
    reply.attachments = {{"note.pdf", "application/pdf", bytes_of("pdf of " + parts[0])}};
    return reply;
}

struct DeskFolder {
    testing::StorePlace place{"the crew's store – grün"};
    std::shared_ptr<Measuring> measuring = std::make_shared<Measuring>();
    std::shared_ptr<Time> now = std::make_shared<Time>(record::sample::at("2026-02-28T09:30:00Z"));

    [[nodiscard]] Setup setup(const std::string& who = record::sample::keeper) const {
        Setup setup;
        setup.store = place.location;
        setup.who = who;
        setup.clock = [time = now] { return *time; };
        setup.criteria = shipped_criteria();
        setup.measure = [told = measuring](const photo::Photo& photo, const PhotoOrder&,
                                           const gauge::Request& request,
                                           const record::Item&) { return told->measure(photo, request); };
        setup.compose = compose;
        setup.read_reply = read_reply;
        return setup;
    }

    [[nodiscard]] Desk open(const std::string& who = record::sample::keeper) const {
        return Desk(setup(who));
    }

    void move_clock(std::chrono::seconds by) const { *now += by; }
};

// K-12 on hold, with nothing found yet. Gives the hold's number.
inline std::string open_hold(Desk& desk) {
    desk.add_item(record::sample::rope());
    return desk.open_hold("K-12", "fuzzy for a hand's width near the middle").number;
}

inline void add_all_views(Desk& desk, const std::string& hold, int first_shade = 1) {
    for (const record::PhotoRole role : {record::PhotoRole::label, record::PhotoRole::whole_item,
                                         record::PhotoRole::close_up, record::PhotoRole::other_side})
        desk.add_photo(hold, photo_order(role, first_shade++));
}

inline QueryOrder query_order() {
    QueryOrder order;
    order.to = "gear@brandelvoss.example";
    order.from = "ida@korrel.example";
    return order;
}

// As open_hold, but the maker was asked.
inline std::string asked_hold(Desk& desk) {
    const std::string hold = open_hold(desk);
    add_all_views(desk, hold);
    desk.make_query(hold, query_order());
    desk.mark_sent(hold, 1);
    return hold;
}

inline std::string message(const std::string& hold, const std::string& text,
                           const std::string& subject = "Re") {
    return "1@brandelvoss.example|" + hold + ".1@korrel.example|" + subject + "|" + text;
}

inline record::AnswerEntry answer(record::MakersAnswer given, const std::string& limit = "") {
    record::AnswerEntry entry;
    entry.answer = given;
    entry.limit = limit;
    entry.words = "as written";
    return entry;
}

inline std::string answered_hold(Desk& desk, record::MakersAnswer given, const std::string& limit = "") {
    const std::string hold = asked_hold(desk);
    desk.add_reply("", bytes_of(message(hold, "our answer")), "reply.eml");
    desk.enter_answer(hold, 1, answer(given, limit));
    return hold;
}

inline VerdictOrder verdict_order(record::VerdictKind kind, const std::string& reason = "") {
    VerdictOrder order;
    order.kind = kind;
    order.by = record::sample::competent_person;
    order.reason = reason;
    return order;
}

inline std::vector<std::string> actions(const Desk& desk) {
    std::vector<std::string> list;
    for (const record::JournalEntry& entry : desk.journal({}))
        list.push_back(entry.action + " " + entry.subject);
    return list;
}

// Nothing wrong in the store, and nothing lying about in it.
inline void check_sound(const Desk& desk) {
    const VerifyReport report = desk.verify();
    for (const VerifyFault& fault : report.faults) UNSCOPED_INFO(fault.where + ": " + fault.what);
    CHECK(report.is_sound());
    CHECK(report.notes.empty());
}

// The action is refused in the given words, and neither the journal nor the case has changed by it.
template <class Action>
Error refused_unchanged(Desk& desk, const Action& action) {
    const std::size_t before = desk.journal({}).size();
    const Error error = testing::failure_of(action);
    CHECK(desk.journal({}).size() == before);
    check_sound(desk);
    return error;
}

}  // namespace frayhold::desk::sample
