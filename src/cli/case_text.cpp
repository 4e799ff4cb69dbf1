// SPDX-License-Identifier: Apache-2.0
#include "cli/case_text.h"

#include <fmt/format.h>

#include <ostream>

#include "cli/text_table.h"
#include "cli/words.h"
#include "criteria/advice.h"
#include "gauge/reading_words.h"
#include "record/evidence.h"
#include "record/life.h"
#include "record/rules.h"

namespace frayhold::cli {
namespace {

std::string_view sign_of(record::ViewState state) {
    switch (state) {
        case record::ViewState::present:
            return "[x]";
        case record::ViewState::waived:
            return "[-]";
        case record::ViewState::unusable:
        case record::ViewState::missing:
            break;
    }
    return "[ ]";
}

void print_finding(std::ostream& out, const record::Finding& finding) {
    const std::string place = record::place_words(finding);
    out << fmt::format("  {}. {}{}{}\n", finding.number, finding.kind_words,
                       place.empty() ? "" : ", " + place, finding.words.empty() ? "" : ": " + finding.words);
}

void print_photo(std::ostream& out, const record::PhotoEntry& photo) {
    out << fmt::format("  {}. {} ({}){}\n", photo.number, record::words_for(photo.role), photo.file_name,
                       photo.usable ? "" : ": cannot be used: " + joined(photo.reasons, "; "));
    print_readings(out, photo.readings, 5);
}

void print_reply(std::ostream& out, const record::Reply& reply) {
    out << fmt::format("  {}. {} from {}: {}{}\n", reply.number, day_words(reply.received), reply.from,
                       reply.subject, reply.automatic ? " (automatic: not an answer)" : "");
    if (!reply.answer) return;
    out << fmt::format("     answer entered by {}: {}{}\n", reply.answer->entered_by,
                       record::words_for(reply.answer->answer),
                       reply.answer->limit.empty() ? "" : ": " + reply.answer->limit);
    if (!reply.answer->words.empty()) out << "     \"" << reply.answer->words << "\"\n";
}

}  // namespace

void print_verdict(std::ostream& out, const record::Verdict& verdict) {
    out << fmt::format("Verdict of {} on {}: {}\n", verdict.by, day_words(verdict.given),
                       record::words_for(verdict.kind));
    if (!verdict.limit.empty()) out << "  limit: " << verdict.limit << '\n';
    if (!verdict.reason.empty()) out << "  " << verdict.reason << '\n';
    for (const std::string& rule : verdict.given_against) out << "  GIVEN AGAINST: " << rule << '\n';
    for (const record::Part& part : verdict.parts)
        out << fmt::format("  part {}: {}\n", part.mark, record::length_words(part.length));
    if (verdict.scrapped) out << "  scrapped: " << record::length_words(*verdict.scrapped) << '\n';
    if (!verdict.witness.empty()) out << "  witness: " << verdict.witness << '\n';
}

std::string sent_words(const record::Query& query) {
    if (query.sent) return day_words(*query.sent);
    return query.posting ? std::string(record::words_for(query.posting->state)) : "not sent yet";
}

std::string day_words(Time time) {
    return to_text(day_of(time));
}

void print_readings(std::ostream& out, std::span<const gauge::Reading> readings, int indent) {
    TextTable table;
    for (const gauge::Reading& reading : readings)
        table.add({gauge::words_for(reading.measurand), gauge::value_words(reading)});
    table.print(out, indent);
}

void print_advice(std::ostream& out, std::span<const record::AdviceEntry> advice, int indent) {
    const std::string margin(static_cast<std::size_t>(indent), ' ');
    for (const record::AdviceEntry& entry : advice) {
        out << margin << record::words_for(entry.outcome);
        if (!entry.because.empty()) out << " (" << entry.because << ')';
        out << '\n';
        if (!entry.criterion.empty())
            out << margin << "  " << entry.words << " Source: " << entry.source << ".\n";
    }
    out << margin << criteria::caution << '\n';
}

void print_case(std::ostream& out, const record::CaseFile& file, Date today) {
    const record::Item& item = file.item;
    out << fmt::format("{}: {} {} {} ({}), {}\n", file.hold.number, item.mark, item.maker, item.model,
                       record::words_for(item.kind), record::words_for(file.hold.state));
    out << fmt::format("  opened {} by {}: {}\n", day_words(file.hold.opened), file.hold.opened_by,
                       file.hold.seen);
    const record::LifeEnd life = record::life_end(item, today);
    if (!life.words.empty()) out << "  " << life.words << '\n';

    if (!file.findings.empty()) out << "\nFindings by hand\n";
    for (const record::Finding& finding : file.findings) print_finding(out, finding);
    if (!file.photos.empty()) out << "\nPhotos\n";
    for (const record::PhotoEntry& photo : file.photos) print_photo(out, photo);
    if (!file.verdict) {
        out << "\nEvidence\n";
        for (const record::RequiredView& view : record::evidence_list(file))
            out << fmt::format("  {} {}\n", sign_of(view.state), view.words);
    }
    const std::vector<record::AdviceEntry> advice = file.all_advice();
    out << "\nAdvice\n";
    print_advice(out, advice, 2);

    if (!file.queries.empty()) out << "\nQueries\n";
    for (const record::Query& query : file.queries)
        out << fmt::format("  {}. to {}: {}, {}\n", query.number, query.to, query.subject,
                           query.sent ? "sent " + day_words(*query.sent) : sent_words(query));
    if (!file.replies.empty()) out << "\nReplies\n";
    for (const record::Reply& reply : file.replies) print_reply(out, reply);
    if (file.verdict) {
        out << '\n';
        print_verdict(out, *file.verdict);
    }
    out << "\nNext: " << record::next_step(file, today) << '\n';
}

}  // namespace frayhold::cli
