// SPDX-License-Identifier: Apache-2.0
#include "cli/case_text.h"

#include <fmt/format.h>

#include <ostream>

#include "cli/text_table.h"
#include "cli/words.h"
#include "criteria/advice.h"
#include "gauge/reading_words.h"
#include "language/recorded.h"
#include "language/tr.h"
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
    out << fmt::format("  {}. {}{}{}\n", finding.number, tr_recorded(finding.kind_words),
                       place.empty() ? "" : ", " + place, finding.words.empty() ? "" : ": " + finding.words);
}

void print_photo(std::ostream& out, const record::PhotoEntry& photo) {
    std::string words = fmt::format("{} ({})", record::words_for(photo.role), photo.file_name);
    if (!photo.usable) {
        // Translators: a photo, and why it cannot be used.
        words = trf("{}: cannot be used: {}", words, recorded_words(photo.reasons));
    }
    out << fmt::format("  {}. {}\n", photo.number, words);
    print_readings(out, photo.readings, 5);
}

void print_reply(std::ostream& out, const record::Reply& reply) {
    const std::string day = day_words(reply.received);
    // Translators: the day a reply came, from whom, and its subject.
    std::string words = trf("{} from {}: {}", day, reply.from, tr_recorded(reply.subject));
    if (reply.automatic)
        words = trf("{} from {}: {} (automatic: not an answer)", day, reply.from, tr_recorded(reply.subject));
    out << fmt::format("  {}. {}\n", reply.number, words);
    if (!reply.answer) return;
    const std::string limit = reply.answer->limit.empty() ? "" : ": " + reply.answer->limit;
    out << "     "
        << trf("answer entered by {}: {}", reply.answer->entered_by,
               record::words_for(reply.answer->answer) + limit)
        << '\n';
    if (!reply.answer->words.empty()) out << "     \"" << reply.answer->words << "\"\n";
}

}  // namespace

std::string verdict_words(const record::Verdict& verdict) {
    return trf("Verdict of {}: {}", verdict.by, record::words_for(verdict.kind));
}

std::string against_words(const std::string& against) {
    return trf("IN SPITE OF: {}", tr_recorded(against));
}

void print_verdict(std::ostream& out, const record::Verdict& verdict) {
    out << trf("Verdict of {} on {}: {}", verdict.by, day_words(verdict.given),
               record::words_for(verdict.kind))
        << '\n';
    if (!verdict.limit.empty()) out << "  " << trf("limit: {}", verdict.limit) << '\n';
    if (!verdict.reason.empty()) out << "  " << verdict.reason << '\n';
    for (const std::string& rule : verdict.given_against)
        out << "  " << trf("GIVEN AGAINST: {}", tr_recorded(rule)) << '\n';
    for (const record::Part& part : verdict.parts)
        out << "  " << trf("part {}: {}", part.mark, record::length_words(part.length)) << '\n';
    if (verdict.scrapped) out << "  " << trf("scrapped: {}", record::length_words(*verdict.scrapped)) << '\n';
    if (!verdict.witness.empty()) out << "  " << trf("witness: {}", verdict.witness) << '\n';
}

std::string sent_words(const record::Query& query) {
    if (query.sent) return day_words(*query.sent);
    return query.posting ? record::words_for(query.posting->state) : tr("not sent yet");
}

const language::Catalogue* language_for(bool json) {
    return json ? nullptr : language::spoken();
}

std::string day_words(Time time) {
    return to_text(day_of(time));
}

void print_readings(std::ostream& out, std::span<const gauge::Reading> readings, int indent) {
    TextTable table;
    for (const gauge::Reading& reading : readings)
        table.add({tr_word(gauge::words_for(reading.measurand)), gauge::value_words(reading)});
    table.print(out, indent);
}

std::string recorded_words(const std::vector<std::string>& sentences) {
    std::vector<std::string> shown;
    for (const std::string& sentence : sentences) shown.push_back(tr_recorded(sentence));
    return joined(shown, "; ");
}

std::string source_words(const record::AdviceEntry& entry) {
    return trf("{} Source: {}.", tr_recorded(entry.words), tr_recorded(entry.source));
}

void print_advice(std::ostream& out, std::span<const record::AdviceEntry> advice, int indent) {
    const std::string margin(static_cast<std::size_t>(indent), ' ');
    for (const record::AdviceEntry& entry : advice) {
        out << margin << record::words_for(entry.outcome);
        if (!entry.because.empty()) out << " (" << criteria::because_words(entry.because) << ')';
        out << '\n';
        if (!entry.criterion.empty()) out << margin << "  " << source_words(entry) << '\n';
    }
    out << margin << tr_word(criteria::caution) << '\n';
}

void print_case(std::ostream& out, const record::CaseFile& file, Date today) {
    const record::Item& item = file.item;
    out << fmt::format("{}: {} {} {} ({}), {}\n", file.hold.number, item.mark, item.maker, item.model,
                       record::words_for(item.kind), record::words_for(file.hold.state));
    out << "  "
        << trf("opened {} by {}: {}", day_words(file.hold.opened), file.hold.opened_by,
               tr_recorded(file.hold.seen))
        << '\n';
    const record::LifeEnd life = record::life_end(item, today);
    if (!life.words.empty()) out << "  " << life.words << '\n';

    if (!file.findings.empty()) out << '\n' << tr("Findings by hand") << '\n';
    for (const record::Finding& finding : file.findings) print_finding(out, finding);
    if (!file.photos.empty()) out << '\n' << tr("Photos") << '\n';
    for (const record::PhotoEntry& photo : file.photos) print_photo(out, photo);
    if (!file.verdict) {
        out << '\n' << tr("Evidence") << '\n';
        for (const record::RequiredView& view : record::evidence_list(file))
            out << fmt::format("  {} {}\n", sign_of(view.state), view.words);
    }
    const std::vector<record::AdviceEntry> advice = file.all_advice();
    out << '\n' << tr("Advice") << '\n';
    print_advice(out, advice, 2);

    if (!file.queries.empty()) out << '\n' << tr("Queries") << '\n';
    for (const record::Query& query : file.queries) {
        // Translators: a query to the maker: its address, its subject, and where it is: "not sent yet".
        std::string words = trf("to {}: {}, {}", query.to, query.subject, sent_words(query));
        if (query.sent) words = trf("to {}: {}, sent {}", query.to, query.subject, day_words(*query.sent));
        out << fmt::format("  {}. {}\n", query.number, words);
    }
    if (!file.replies.empty()) out << '\n' << tr("Replies") << '\n';
    for (const record::Reply& reply : file.replies) print_reply(out, reply);
    if (file.verdict) {
        out << '\n';
        print_verdict(out, *file.verdict);
    }
    out << '\n' << trf("Next: {}", record::next_step(file, today)) << '\n';
}

}  // namespace frayhold::cli
