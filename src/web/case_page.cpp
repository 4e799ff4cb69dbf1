// SPDX-License-Identifier: Apache-2.0
#include "web/case_page.h"

#include <fmt/format.h>

#include "criteria/advice.h"
#include "desk/item_subject.h"
#include "gauge/measurand.h"
#include "gauge/reading_words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/evidence.h"
#include "record/life.h"
#include "record/rules.h"
#include "record/text.h"
#include "web/thread.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

void add_fact(json& facts, const std::string& name, const std::string& words) {
    if (!words.empty()) facts.push_back({{"name", name}, {"words", words}});
}

// The style of its line.
std::string_view sign_of(record::ViewState state) {
    switch (state) {
        case record::ViewState::present:
            return "there";
        case record::ViewState::waived:
            return "waived";
        case record::ViewState::unusable:
            return "again";
        case record::ViewState::missing:
            break;
    }
    return "missing";
}

std::string words_of(record::ViewState state) {
    switch (state) {
        case record::ViewState::present:
            return trc("view", "there");
        case record::ViewState::waived:
            return trc("view", "waived");
        case record::ViewState::unusable:
            return trc("view", "again");
        case record::ViewState::missing:
            break;
    }
    return trc("view", "missing");
}

json evidence_lines(const record::CaseFile& file) {
    json lines = json::array();
    for (const record::RequiredView& view : record::evidence_list(file)) {
        const bool wanted =
            view.state == record::ViewState::missing || view.state == record::ViewState::unusable;
        lines.push_back({{"role", record::name_of(view.role)},
                         {"name", record::words_for(view.role)},
                         {"words", view.words},
                         {"sign", sign_of(view.state)},
                         {"sign_words", words_of(view.state)},
                         {"wanted", wanted},
                         {"add", hold_path(file.hold.number) +
                                     "/photo?role=" + std::string(record::name_of(view.role))}});
    }
    return lines;
}

json reading_lines(const std::vector<gauge::Reading>& readings) {
    json lines = json::array();
    for (const gauge::Reading& reading : readings)
        lines.push_back(
            {{"name", tr_word(gauge::words_for(reading.measurand))}, {"value", gauge::value_words(reading)}});
    return lines;
}

json photo_lines(const record::CaseFile& file) {
    json lines = json::array();
    for (const record::PhotoEntry& photo : file.photos) {
        bool marked = false;
        for (const record::PhotoMarks& marks : file.marks) marked = marked || marks.photo == photo.number;
        const std::string path = fmt::format("{}/photo/{}", hold_path(file.hold.number), photo.number);
        lines.push_back({{"number", photo.number},
                         {"name", record::words_for(photo.role)},
                         {"href", path},
                         {"small", path + "/small"},
                         {"usable", photo.usable},
                         {"reasons", recorded_lines(photo.reasons)},
                         {"marked", marked},
                         {"readings", reading_lines(photo.readings)}});
    }
    return lines;
}

json verdict_block(const record::Verdict& verdict) {
    json parts = json::array();
    for (const record::Part& part : verdict.parts)
        parts.push_back({{"mark", part.mark}, {"length", record::length_words(part.length)}});
    json block{{"kind", record::words_for(verdict.kind)},
               {"by", verdict.by},
               {"day", day_words(verdict.given)},
               {"reason", verdict.reason},
               {"limit", verdict.limit},
               {"witness", verdict.witness},
               {"against", recorded_lines(verdict.given_against)},
               {"is_override", verdict.is_override()},
               {"parts", parts}};
    if (verdict.scrapped) block["scrapped"] = record::length_words(*verdict.scrapped);
    return block;
}

// Where the one obvious next step leads, and what stands on its button.
struct Step {
    std::string href;
    std::string words;
    Task task = Task::evidence;
};

Step step_of(const record::CaseFile& file) {
    const std::string path = hold_path(file.hold.number);
    for (const record::Reply& reply : file.replies)
        if (!reply.answer && !reply.automatic && !file.verdict && file.hold.state == record::HoldState::asked)
            return {fmt::format("{}/reply/{}", path, reply.number), tr("Read the reply"), Task::keep};
    switch (file.hold.state) {
        case record::HoldState::open:
        case record::HoldState::evidence:
            for (const record::RequiredView& view : record::evidence_list(file))
                if (view.state == record::ViewState::missing || view.state == record::ViewState::unusable)
                    return {path + "/photo?role=" + std::string(record::name_of(view.role)),
                            trf("Add photo: {}", record::words_for(view.role))};
            return {path + "/finding", tr("Note what you feel")};
        case record::HoldState::ready:
            for (const record::Query& query : file.queries)
                if (!query.sent)
                    return {fmt::format("{}/query/{}", path, query.number), tr("Look over the letter"),
                            Task::keep};
            return {path + "/ask", tr("Ask the maker"), Task::keep};
        case record::HoldState::asked:
            return {path + "/reply", tr("Add the reply"), Task::keep};
        case record::HoldState::answered:
            return {path + "/verdict", tr("Give the verdict"), Task::decide};
        case record::HoldState::verdict:
            break;
    }
    return {"/", tr("Back to the holds"), Task::look};
}

bool has_retire_advice(const record::CaseFile& file) {
    for (const record::AdviceEntry& advice : file.all_advice())
        if (advice.outcome == criteria::Outcome::retire) return true;
    return false;
}

json finding_data(const Visit& visit, const record::CaseFile& file) {
    const Request& request = visit.request;
    json kinds = json::array();
    for (const criteria::FindingKind& kind :
         visit.house.criteria->findings(desk::criteria_subject(file.item.kind)))
        kinds.push_back({{"name", kind.name},
                         {"words", tr_word(kind.words)},
                         {"chosen", kind.name == request.field("kind")}});
    json data = case_head(file);
    data["title"] = trf("What the hands felt, {}", file.hold.number);
    data["kinds"] = kinds;
    for (const char* field : {"at", "side", "words"}) data[field] = request.field(field);
    json photos = json::array();
    for (const json& photo : photo_lines(file))
        if (photo.at("usable").get<bool>()) photos.push_back(photo);
    data["photos"] = photos;
    return data;
}

}  // namespace

json recorded_lines(const std::vector<std::string>& sentences) {
    json lines = json::array();
    for (const std::string& sentence : sentences) lines.push_back(tr_recorded(sentence));
    return lines;
}

json facts_of(const record::Item& item, Date today) {
    json facts = json::array();
    const auto date = [](const std::optional<Date>& day) { return day ? to_text(*day) : std::string(); };
    const auto length = [](const std::optional<Millimetres>& given) {
        return given ? record::length_words(*given) : std::string();
    };
    add_fact(facts, tr("Kind"), record::words_for(item.kind));
    add_fact(facts, tr("Maker"), item.maker);
    add_fact(facts, tr("Model"), item.model);
    add_fact(facts, tr("Serial"), item.serial);
    add_fact(facts, tr("Batch"), item.batch);
    add_fact(facts, tr("Standard"), item.standard);
    add_fact(facts, tr("Length"), length(item.length));
    add_fact(facts, tr("Diameter or width"),
             item.diameter_or_width ? fmt::format("{:g} mm", item.diameter_or_width->value()) : "");
    add_fact(facts, tr("Made"), date(item.made));
    add_fact(facts, tr("First used"), date(item.first_used));
    add_fact(facts, tr("Life"), record::life_end(item, today).words);
    add_fact(facts, tr("Cut from"), item.parent);
    add_fact(facts, tr("Kit"), item.kit);
    add_fact(facts, tr("Place"), item.place);
    add_fact(facts, tr("Limit"), item.limit);
    add_fact(facts, tr("Note"), item.note);
    return facts;
}

json finding_line(const record::Finding& finding) {
    return {{"number", finding.number},
            {"what", tr_recorded(finding.kind_words)},
            {"where", record::place_words(finding)},
            {"words", finding.words},
            {"by", finding.found_by},
            {"day", day_words(finding.found)}};
}

json earlier_lines(const std::vector<record::EarlierHold>& earlier) {
    json lines = json::array();
    for (const record::EarlierHold& other : earlier) {
        json findings = json::array();
        for (const record::Finding& finding : other.findings) findings.push_back(finding_line(finding));
        json line{{"number", other.hold.number},
                  {"href", hold_path(other.hold.number)},
                  {"day", day_words(other.hold.opened)},
                  {"seen", tr_recorded(other.hold.seen)},
                  {"findings", findings}};
        if (other.verdict)
            line["verdict"] = record::words_for(other.verdict->kind) + ", " + other.verdict->by;
        lines.push_back(std::move(line));
    }
    return lines;
}

json case_head(const record::CaseFile& file) {
    return {{"hold", file.hold.number},
            {"path", hold_path(file.hold.number)},
            {"mark", file.item.mark},
            {"item_href", "/item?mark=" + percent_encoded(file.item.mark)},
            {"what", record::trimmed(file.item.maker + " " + file.item.model)},
            {"state", record::words_for(file.hold.state)},
            {"over", file.verdict.has_value()}};
}

json advice_lines(const std::vector<record::AdviceEntry>& advice) {
    json lines = json::array();
    for (const record::AdviceEntry& entry : advice)
        lines.push_back({{"outcome", record::words_for(entry.outcome)},
                         {"retire", entry.outcome == criteria::Outcome::retire},
                         {"ask", entry.outcome == criteria::Outcome::hold_and_ask},
                         {"words", tr_recorded(entry.words)},
                         {"because", criteria::because_words(entry.because)},
                         {"borderline", entry.borderline},
                         {"named", !entry.criterion.empty()},
                         {"source", tr_recorded(entry.source)}});
    return lines;
}

Answer case_page(const Visit& visit, const std::string& hold) {
    const record::CaseFile file = visit.desk.case_file(hold);
    const Date today = visit.desk.today();
    const Step step = step_of(file);
    json data = case_head(file);
    data["title"] = file.hold.number + ", " + file.item.mark;
    data["seen"] = tr_recorded(file.hold.seen);
    data["opened"] = day_words(file.hold.opened);
    data["opened_by"] = file.hold.opened_by;
    data["age"] = age_words(file.hold.opened, today);
    data["next"] = record::next_step(file, today);
    if (visit.may(step.task))
        data["step"] = {{"href", step.href}, {"words", step.words}};
    else
        // Translators: in "This is for {step_for}."
        data["step_for"] = step.task == Task::decide ? trc("this is for", "a competent person")
                                                     : trc("this is for", "the keeper");
    data["facts"] = facts_of(file.item, today);
    data["earlier"] = earlier_lines(file.earlier);
    data["has_earlier"] = !file.earlier.empty();
    data["evidence"] = evidence_lines(file);
    json findings = json::array();
    for (const record::Finding& finding : file.findings) findings.push_back(finding_line(finding));
    data["findings"] = findings;
    data["photos"] = photo_lines(file);
    data["has_photos"] = !file.photos.empty();
    data["advice"] = advice_lines(file.all_advice());
    data["thread"] = thread_of(file, "");
    data["post_words"] =
        trf("{} to the maker, {} from there", trn("{} letter", "{} letters", file.queries.size()),
            trn("{} reply", "{} replies", file.replies.size()));
    data["has_post"] = !file.queries.empty() || !file.replies.empty();
    data["may_ask"] = record::may_ask(file).has_value();
    data["may_decide"] = !file.verdict;
    data["retire_advised"] = has_retire_advice(file) && !file.verdict;
    if (file.verdict) data["verdict"] = verdict_block(*file.verdict);
    return visit.page("case", std::move(data));
}

Answer case_pulse(const Visit& visit, const std::string& hold) {
    const record::CaseFile file = visit.desk.case_file(hold);
    return Answer::json(json{{"photos", file.photos.size()}, {"findings", file.findings.size()}}.dump());
}

record::Finding typed_finding(const Request& request) {
    record::Finding finding;
    finding.kind = request.field("kind");
    if (finding.kind.empty())
        throw Failure(Fault::input, tr("finding"), "no kind is chosen", "choose the words that come nearest");
    finding.station = length_typed(request.field("at"), tr("how far along"));
    finding.side = request.field("side");
    finding.words = request.field("words");
    return finding;
}

Answer finding_page(const Visit& visit, const std::string& hold) {
    const record::CaseFile file = visit.desk.case_file(hold);
    if (!visit.is_post()) return visit.page("finding", finding_data(visit, file));
    const Request& request = visit.request;
    try {
        (void)visit.desk.add_finding(hold, typed_finding(request));
        return Answer::go_to(hold_path(hold) + "#findings");
    } catch (const Failure& failure) {
        return visit.page_again("finding", finding_data(visit, file), failure.error());
    }
}

Answer waive_page(const Visit& visit, const std::string& hold) {
    const Request& request = visit.request;
    try {
        const auto role = record::photo_role_named(request.field("role"));
        if (!role)
            throw Failure(Fault::input, tr("view"), "no view is named", "choose one of the evidence list");
        (void)visit.desk.waive_view(hold, *role, request.field("reason"));
        return Answer::go_to(hold_path(hold) + "#evidence");
    } catch (const Failure& failure) {
        return sorry_page(visit, failure.error());
    }
}

}  // namespace frayhold::web
