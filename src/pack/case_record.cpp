// SPDX-License-Identifier: Apache-2.0
// The case's PDF without its photos: front, item, findings, criteria, letters, verdict, earlier holds,
// journal.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <memory>
#include <utility>

#include "criteria/advice.h"
#include "pack/case_sections.h"
#include "pack/words.h"
#include "record/evidence.h"
#include "record/life.h"

namespace frayhold::pack {
namespace {

std::string on_day(const std::string& who, Time time) {
    return who.empty() ? to_text(day_of(time)) : fmt::format("{}, {}", who, to_text(day_of(time)));
}

std::string probability_words(double probability) {
    constexpr double tenth_of_a_percent = 0.001;
    if (probability >= 1.0 - tenth_of_a_percent / 2) return "over 99.9 %";
    if (probability < tenth_of_a_percent) return "under 0.1 %";
    return fmt::format("{:.1f} %", 100.0 * probability);
}

// What a journal entry's action is called for a person.
std::string action_words(const std::string& action) {
    constexpr std::array<std::pair<std::string_view, std::string_view>, 17> known{
        {{"item.add", "item added"},
         {"item.edit", "item changed"},
         {"hold.open", "hold opened"},
         {"hold.ready", "evidence complete"},
         {"finding.add", "finding recorded"},
         {"photo.add", "photo added"},
         {"view.waive", "view waived"},
         {"query.make", "query made"},
         {"query.queue", "query put into the outbox"},
         {"query.try", "query not sent yet"},
         {"query.settle", "word given on a query"},
         {"query.withdraw", "query withdrawn"},
         {"query.send", "query sent"},
         {"reply.add", "reply added"},
         {"answer.enter", "maker's answer entered"},
         {"batch.hold", "batch put on hold"},
         {"verdict.give", "verdict given"}}};
    const auto* const at =
        std::find_if(known.begin(), known.end(), [&](const auto& entry) { return entry.first == action; });
    return at == known.end() ? action : std::string(at->second);
}

// One criterion and everything that met it.
struct MetCriterion {
    record::AdviceEntry entry;
    std::string because;
};

std::string because_words(const std::string& where, const record::AdviceEntry& entry) {
    std::string words = where + ": " + entry.because;
    std::replace(words.begin(), words.end(), '_', ' ');
    // A finding by hand is certain; only of a reading the probability says something.
    const bool measured = entry.because.find("±") != std::string::npos;
    if (entry.probability && measured)
        words += "; probability that the limit is passed " + probability_words(*entry.probability);
    if (entry.borderline) words += "; borderline: the reading alone does not settle it";
    return words;
}

// The gravest first; lines without a criterion only where no other is left.
std::vector<MetCriterion> met_criteria(const record::CaseFile& file) {
    std::vector<MetCriterion> all;
    const auto take = [&](const std::string& where, const record::AdviceEntry& entry) {
        const std::string because = entry.because.empty() ? where : because_words(where, entry);
        const auto known = std::find_if(all.begin(), all.end(), [&](const MetCriterion& met) {
            return met.entry.criterion == entry.criterion && met.entry.outcome == entry.outcome;
        });
        if (known == all.end()) {
            all.push_back({entry, because});
        } else {
            known->because += "\n" + because;
        }
    };
    for (const record::Finding& finding : file.findings)
        for (const record::AdviceEntry& entry : finding.advice)
            take(fmt::format("Finding {}", finding.number), entry);
    for (const record::PhotoEntry& photo : file.photos)
        for (const record::AdviceEntry& entry : photo.advice)
            take(fmt::format("Photo {}", photo.number), entry);
    const auto closing = [](const MetCriterion& met) { return met.entry.criterion.empty(); };
    if (!std::all_of(all.begin(), all.end(), closing)) std::erase_if(all, closing);
    const auto gravity = [](const MetCriterion& met) {
        return met.entry.outcome == criteria::Outcome::retire         ? 0
               : met.entry.outcome == criteria::Outcome::hold_and_ask ? 1
                                                                      : 2;
    };
    std::stable_sort(all.begin(), all.end(),
                     [&](const MetCriterion& a, const MetCriterion& b) { return gravity(a) < gravity(b); });
    return all;
}

// Words beside a bar in the accent colour, line by line, the first three on one page.
void add_notice(Flow& flow, const std::string& title, const std::string& words, double gap) {
    constexpr double indent = 10;
    const double width = flow.width() - indent;
    const std::vector<std::shared_ptr<const TextBlock>> texts{
        std::make_shared<const TextBlock>(
            flow.context(), title,
            Style{.family = Family::sans, .size_pt = 8.4, .bold = true, .ink = inks::accent, .leading = 1.15},
            width),
        std::make_shared<const TextBlock>(flow.context(), words, styles::body, width)};
    int placed = 0;
    for (const auto& text : texts)
        for (int line = 0; line < text->line_count(); ++line, ++placed) {
            Block block;
            block.gap = placed == 0 ? gap : 0;
            block.height = text->height_of_lines_pt(line, line + 1);
            block.with_next = placed < 2;
            block.draw = [text, line, height = block.height](cairo_t* context, double x, double y) {
                set_ink(context, inks::accent);
                cairo_rectangle(context, x, y, 2, height);
                cairo_fill(context);
                text->draw_lines(context, x + indent, y, line, line + 1);
            };
            flow.add(std::move(block));
        }
}

std::string override_words(const record::Verdict& verdict) {
    std::string words = fmt::format("{} decided on {}: {}. Against it stood:", verdict.by,
                                    to_text(day_of(verdict.given)), record::words_for(verdict.kind));
    for (const std::string& rule : verdict.given_against) words += "\n–  " + rule;
    return words + "\nReason given: " + (verdict.reason.empty() ? "none" : verdict.reason);
}

void add_overrides(Flow& flow, const CasePdfInput& input) {
    if (input.file.verdict && input.file.verdict->is_override())
        add_notice(flow, "Decided against a rule", override_words(*input.file.verdict), 12);
    for (const record::EarlierHold& earlier : input.file.earlier)
        if (earlier.verdict && earlier.verdict->is_override())
            add_notice(flow, "Decided against a rule in an earlier hold, " + earlier.hold.number,
                       override_words(*earlier.verdict), 12);
}

std::string verdict_line(const record::Verdict& verdict) {
    std::string words = fmt::format("{} by {}", capital(std::string(record::words_for(verdict.kind))),
                                    on_day(verdict.by, verdict.given));
    if (!verdict.limit.empty()) words += "; limit: " + verdict.limit;
    return words;
}

std::string answer_line(const record::AnswerEntry& answer) {
    std::string words = capital(std::string(record::words_for(answer.answer)));
    if (!answer.limit.empty()) words += ": " + answer.limit;
    return words;
}

const std::vector<Column> pairs_columns(const Flow& flow) {
    return {{"", mm(32)}, {"", flow.width() - mm(32)}};
}

Row pair(const std::string& name, const std::string& words, const Style& style = styles::table) {
    return {{name, styles::table_quiet}, {words, style}};
}

}  // namespace

void add_heading(Flow& flow, std::string_view words) {
    const TextBlock text(flow.context(), words, Style{.size_pt = 13.5}, flow.width());
    Block block;
    block.gap = 20;
    block.height = text.height_pt() + 4;
    block.with_next = true;
    block.draw = [text](cairo_t* context, double x, double y) { text.draw(context, x, y); };
    flow.add(std::move(block));
}

void add_subheading(Flow& flow, std::string_view words) {
    add_paragraph(flow, words, Style{.family = Family::sans, .size_pt = 8.8, .bold = true}, 14, true);
}

void add_front(Flow& flow, const CasePdfInput& input) {
    cairo_t* context = flow.context();
    const record::CaseFile& file = input.file;
    const TextBlock label(context, "EVIDENCE FOR A QUERY TO THE MAKER",
                          Style{.family = Family::sans,
                                .size_pt = 6.8,
                                .bold = true,
                                .ink = inks::quiet,
                                .letter_spacing_pt = 0.7});
    const TextBlock made(
        context, (input.outfit.empty() ? "" : input.outfit + " · ") + minute_words(input.made),
        Style{.family = Family::sans, .size_pt = 7, .ink = inks::quiet}, mm(90), Align::right);
    const TextBlock number(context, file.hold.number, Style{.size_pt = 27});
    std::string item = file.item.model.empty()
                           ? capital(std::string(record::words_for(file.item.kind)))
                           : file.item.model + ", " + std::string(record::words_for(file.item.kind));
    if (!file.item.maker.empty()) item += " by " + file.item.maker;
    const TextBlock subtitle(context, item, Style{.size_pt = 12, .ink = inks::quiet}, flow.width());
    Block title;
    const double number_top = 15;
    const double subtitle_top = number_top + number.height_pt();
    title.height = subtitle_top + subtitle.height_pt();
    const double width = flow.width();
    title.draw = [=](cairo_t* at, double x, double y) {
        label.draw(at, x, y);
        made.draw_lines(at, x + width - mm(90), y, 0, 1);
        number.draw(at, x - 1, y + number_top);
        subtitle.draw(at, x, y + subtitle_top);
    };
    flow.add(std::move(title));

    add_paragraph(
        flow,
        std::string(criteria::caution) +
            " This file holds measured values, findings and advice. It declares nothing fit for service.",
        Style{.size_pt = 9.4, .italic = true}, 10);
    add_overrides(flow, input);

    const std::vector<MetCriterion> met = met_criteria(file);
    std::string advice = "None recorded";
    if (!met.empty()) advice = capital(std::string(record::words_for(met.front().entry.outcome)));
    if (!met.empty() && !met.front().entry.criterion.empty()) advice += ". " + met.front().entry.words;
    const bool retire = !met.empty() && met.front().entry.outcome == criteria::Outcome::retire;
    std::string evidence;
    for (const record::RequiredView& view : record::evidence_list(file))
        evidence += (evidence.empty() ? "" : "\n") + capital(view.words);
    std::vector<Row> rows{
        pair("Hold", fmt::format("{}; opened by {}", capital(std::string(record::words_for(file.hold.state))),
                                 on_day(file.hold.opened_by, file.hold.opened))),
        pair("Advice", advice, retire ? styles::alarm : styles::table_strong),
    };
    if (const auto answer = file.makers_answer())
        rows.push_back(pair("Maker's answer", answer_line(*answer), styles::table_strong));
    if (file.verdict)
        rows.push_back(pair("Verdict", verdict_line(*file.verdict),
                            file.verdict->is_override() ? styles::alarm : styles::table_strong));
    const record::LifeEnd life = record::life_end(file.item, day_of(input.made));
    rows.push_back(pair("Life", capital(life.words), life.counts_as_over() ? styles::alarm : styles::table));
    if (!file.hold.batch_note.empty()) rows.push_back(pair("Batch notice", file.hold.batch_note));
    rows.push_back(pair("Evidence", evidence));
    add_table(flow, pairs_columns(flow), rows, 12);
}

void add_facts(Flow& flow, const std::vector<std::pair<std::string, std::string>>& facts) {
    std::vector<Row> rows;
    for (std::size_t i = 0; i < facts.size(); i += 2)
        rows.push_back({{facts[i].first, styles::table_quiet},
                        {facts[i].second, styles::table},
                        {facts[i + 1].first, styles::table_quiet},
                        {facts[i + 1].second, styles::table}});
    const double name = mm(32);
    const double words = flow.width() / 2 - name;
    add_table(flow, {{"", name}, {"", words}, {"", name}, {"", words}}, rows, 0);
}

void add_item(Flow& flow, const CasePdfInput& input) {
    const record::Item& item = input.file.item;
    add_heading(flow, "The item");
    const std::vector<std::pair<std::string, std::string>> facts{
        {"Our mark", item.mark},
        {"Kind", std::string(record::words_for(item.kind))},
        {"Maker", or_unknown(item.maker)},
        {"Model", or_unknown(item.model)},
        {"Serial number", or_unknown(item.serial)},
        {"Batch", or_unknown(item.batch)},
        {"Standard marked on it", or_unknown(item.standard)},
        {"Material", or_unknown(item.material)},
        {"Diameter or width as sold", or_unknown(item.diameter_or_width)},
        {"Length", or_unknown(item.length)},
        {"Sheath colour", or_unknown(item.sheath_colour)},
        {"Core colour", or_unknown(item.core_colour)},
        {"Made", or_unknown(item.made)},
        {"Bought", or_unknown(item.bought)},
        {"First used", or_unknown(item.first_used)},
        {"Cut from", item.parent.empty() ? "a whole item" : item.parent},
    };
    add_facts(flow, facts);
}

void add_findings(Flow& flow, const std::vector<record::Finding>& findings) {
    std::vector<Row> rows;
    for (const record::Finding& finding : findings) {
        std::string words = finding.kind_words.empty() ? finding.kind : finding.kind_words;
        if (!finding.words.empty()) words += "\n" + finding.words;
        rows.push_back({{std::to_string(finding.number), styles::table_quiet},
                        {words, styles::table},
                        {record::place_words(finding), styles::table},
                        {on_day(finding.found_by, finding.found), styles::table_quiet}});
    }
    const double number = mm(9);
    const double place = mm(46);
    const double found = mm(44);
    add_table(flow,
              {{"No.", number},
               {"Finding by hand or eye", flow.width() - number - place - found},
               {"Where", place},
               {"By", found}},
              rows, 8);
}

void add_seen(Flow& flow, const CasePdfInput& input) {
    add_heading(flow, "What was seen and felt");
    add_paragraph(flow, input.file.hold.seen, styles::body, 0, true);
    add_paragraph(flow, on_day(input.file.hold.opened_by, input.file.hold.opened), styles::aside, 2);
    add_findings(flow, input.file.findings);
}

void add_criteria(Flow& flow, const CasePdfInput& input) {
    add_heading(flow, "Criteria met");
    std::vector<Row> rows;
    for (const MetCriterion& met : met_criteria(input.file)) {
        const record::AdviceEntry& entry = met.entry;
        rows.push_back({{capital(std::string(record::words_for(entry.outcome))),
                         entry.outcome == criteria::Outcome::retire ? styles::alarm : styles::table_strong},
                        {entry.words, styles::table},
                        {met.because, styles::table},
                        {entry.source, styles::table_quiet}});
    }
    if (rows.empty())
        add_paragraph(
            flow, "No reading and no finding was weighed against the criteria: the competent person decides.",
            styles::body, 0);
    const double outcome = mm(24);
    const double because = mm(54);
    const double source = mm(30);
    add_table(flow,
              {{"Advice", outcome},
               {"Criterion", flow.width() - outcome - because - source},
               {"Because of", because},
               {"Source", source}},
              rows, 0);
}

void add_questions(Flow& flow, const CasePdfInput& input) {
    if (input.questions.empty() && input.own_words.empty()) return;
    add_heading(flow, "Questions to the maker");
    std::vector<Row> rows;
    for (const std::string& question : input.questions)
        rows.push_back({{std::to_string(rows.size() + 1), styles::table_quiet}, {question, styles::body}});
    add_table(flow, {{"", mm(9)}, {"", flow.width() - mm(9)}}, rows, 0);
    if (!input.own_words.empty()) add_paragraph(flow, input.own_words, styles::body, rows.empty() ? 0 : 8);
}

void add_correspondence(Flow& flow, const CasePdfInput& input) {
    const record::CaseFile& file = input.file;
    if (file.queries.empty() && file.replies.empty()) return;
    add_heading(flow, "Correspondence");
    struct Line {
        Time time{};
        Row row;
    };
    std::vector<Line> lines;
    for (const record::Query& query : file.queries) {
        const Time time = query.sent.value_or(query.made);
        lines.push_back({time,
                         {{to_text(day_of(time)), styles::table_quiet},
                          {query.sent ? "Sent" : "Made, not sent", styles::table_strong},
                          {query.to, styles::table},
                          {query.subject, styles::table}}});
    }
    for (const record::Reply& reply : file.replies) {
        std::string words = reply.subject;
        if (reply.answer) words += "\nEntered as: " + answer_line(*reply.answer);
        if (reply.answer && !reply.answer->words.empty()) words += "\n“" + reply.answer->words + "”";
        lines.push_back({reply.received,
                         {{to_text(day_of(reply.received)), styles::table_quiet},
                          {reply.automatic                        ? "Automatic, no answer"
                           : reply.way == record::ReplyWay::phone ? "By telephone"
                                                                  : "Received",
                           styles::table_strong},
                          {reply.from, styles::table},
                          {words, styles::table}}});
    }
    std::stable_sort(lines.begin(), lines.end(),
                     [](const Line& a, const Line& b) { return a.time < b.time; });
    std::vector<Row> rows;
    for (Line& line : lines) rows.push_back(std::move(line.row));
    const double day = mm(20);
    const double state = mm(24);
    const double party = mm(46);
    add_table(
        flow,
        {{"Day", day}, {"", state}, {"To or from", party}, {"Subject", flow.width() - day - state - party}},
        rows, 0);
}

void add_verdict(Flow& flow, const CasePdfInput& input) {
    if (!input.file.verdict) return;
    const record::Verdict& verdict = *input.file.verdict;
    add_heading(flow, "Verdict of the competent person");
    std::vector<Row> rows{pair("Verdict", verdict_line(verdict), styles::table_strong)};
    if (!verdict.reason.empty()) rows.push_back(pair("Reason", verdict.reason));
    for (const record::Part& part : verdict.parts)
        rows.push_back(pair("Part kept", part.mark + ", " + record::length_words(part.length)));
    if (verdict.scrapped)
        rows.push_back(pair("Cut out and destroyed", record::length_words(*verdict.scrapped)));
    if (!verdict.witness.empty()) rows.push_back(pair("Witness", verdict.witness));
    for (const std::string& rule : verdict.given_against)
        rows.push_back(pair("Given against", rule, styles::alarm));
    add_table(flow, pairs_columns(flow), rows, 0);
}

void add_earlier(Flow& flow, const CasePdfInput& input) {
    if (input.file.earlier.empty()) return;
    add_heading(flow, "Earlier holds of this item");
    for (const record::EarlierHold& earlier : input.file.earlier) {
        add_subheading(
            flow, fmt::format("{}, opened {}", earlier.hold.number, to_text(day_of(earlier.hold.opened))));
        add_paragraph(flow, earlier.hold.seen, styles::body, 2);
        add_findings(flow, earlier.findings);
        std::vector<Row> rows;
        if (earlier.verdict) {
            rows.push_back(pair("Verdict", verdict_line(*earlier.verdict), styles::table_strong));
            if (!earlier.verdict->reason.empty()) rows.push_back(pair("Reason", earlier.verdict->reason));
            for (const std::string& rule : earlier.verdict->given_against)
                rows.push_back(pair("Given against", rule, styles::alarm));
        } else {
            rows.push_back(pair("Verdict", "none yet"));
        }
        add_table(flow, pairs_columns(flow), rows, 6);
    }
}

void add_journal(Flow& flow, const CasePdfInput& input) {
    const std::vector<record::JournalEntry>& journal = input.file.journal;
    if (journal.empty()) return;
    add_heading(flow, "Journal of the case");
    constexpr std::size_t most_entries = 150;
    const std::size_t first = journal.size() > most_entries ? journal.size() - most_entries : 0;
    add_paragraph(
        flow,
        "Each entry's hash covers the one before it, so that no entry can be changed unseen." +
            (first > 0
                 ? fmt::format(" The {} oldest entries are left out here; they stand in case.json.", first)
                 : std::string()),
        styles::aside, 0, true);
    std::vector<Row> rows;
    for (std::size_t i = first; i < journal.size(); ++i) {
        const record::JournalEntry& entry = journal[i];
        rows.push_back({{std::to_string(entry.number), styles::table_quiet},
                        {minute_words(entry.time), styles::table},
                        {entry.who, styles::table},
                        {action_words(entry.action), styles::table},
                        {entry.hash.substr(0, 16), styles::table_quiet}});
    }
    const double number = mm(14);
    const double time = mm(36);
    const double who = mm(44);
    const double hash = mm(38);
    add_table(flow,
              {{"No.", number},
               {"Time", time},
               {"Who", who},
               {"Action", flow.width() - number - time - who - hash},
               {"Hash begins", hash}},
              rows, 6);
    const std::string& head = input.file.journal_head.empty() ? journal.back().hash : input.file.journal_head;
    add_paragraph(flow,
                  "Journal head when this was made: " + head +
                      "\nWho keeps this page can have it proved that nothing before was changed since: "
                      "frayhold verify --head, with this value.",
                  Style{.family = Family::sans, .size_pt = 7, .ink = inks::quiet}, 6);
}

}  // namespace frayhold::pack
