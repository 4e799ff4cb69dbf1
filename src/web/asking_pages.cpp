// SPDX-License-Identifier: Apache-2.0
#include "web/asking_pages.h"

#include <fmt/format.h>

#include <algorithm>

#include "desk/usual_setup.h"
#include "pack/letter.h"
#include "record/rules.h"
#include "record/text.h"
#include "web/case_page.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

std::string size_words(std::size_t bytes) {
    constexpr double kilo = 1000.0;
    if (bytes < 1000) return fmt::format("{} bytes", bytes);
    if (bytes < 1'000'000) return fmt::format("{:.0f} kB", static_cast<double>(bytes) / kilo);
    return fmt::format("{:.1f} MB", static_cast<double>(bytes) / kilo / kilo);
}

// What was written last time, to this maker, is not asked again.
json ask_data(const Visit& visit, const record::CaseFile& file) {
    const Request& request = visit.request;
    json data = case_head(file);
    data["title"] = "Ask the maker, " + file.hold.number;
    for (const char* field : {"to", "from", "own_words", "substance", "outfit"})
        data[field] = request.field(field);
    if (!file.queries.empty() && request.field("to").empty()) data["to"] = file.queries.back().to;
    data["reply_days"] = request.field("reply_days").empty() ? std::to_string(desk::usual_reply_days)
                                                             : request.field("reply_days");
    const std::vector<std::string> chosen = request.all("ask");
    json questions = json::array();
    for (const pack::LetterQuestion& question : pack::letter_questions())
        questions.push_back(
            {{"key", question.key},
             {"words", question.words},
             {"chosen", std::find(chosen.begin(), chosen.end(), question.key) != chosen.end() ||
                            (!visit.is_post() && question.key == "fit")}});
    data["questions"] = questions;
    const std::string language = request.field("language").empty() ? "en" : request.field("language");
    json languages = json::array();
    for (const std::string& each : pack::letter_languages(desk::shipped_folders("templates/letters")))
        languages.push_back({{"name", each}, {"chosen", each == language}});
    data["languages"] = languages;
    const Result<void> may = record::may_ask(file);
    data["may_ask"] = may.has_value();
    if (!may) data["refusal"] = may.error().sentence();
    return data;
}

json attachment_lines(const std::vector<desk::ReadAttachment>& attachments, const std::string& path) {
    json lines = json::array();
    for (std::size_t i = 0; i < attachments.size(); ++i)
        lines.push_back({{"name", attachments[i].file_name},
                         {"size", size_words(attachments[i].bytes.size())},
                         {"picture", attachments[i].media_type == "image/jpeg"},
                         {"href", fmt::format("{}/attachment/{}", path, i + 1)}});
    return lines;
}

template <class Entry>
const Entry& numbered(const std::vector<Entry>& list, int number, const std::string& hold,
                      const std::string& name) {
    for (const Entry& entry : list)
        if (entry.number == number) return entry;
    throw Failure(Fault::input, "hold " + hold, fmt::format("there is no {} {}", name, number),
                  "look at the hold again");
}

json query_data(const Visit& visit, const record::CaseFile& file, const record::Query& query) {
    const std::vector<std::byte> message = visit.desk.kept_bytes(query.sha256);
    const desk::ReadReply read = visit.desk.read_message(query.sha256);
    const std::string path = fmt::format("{}/query/{}", hold_path(file.hold.number), query.number);
    json data = case_head(file);
    data["title"] = fmt::format("Letter {}, {}", query.number, file.hold.number);
    data["query_path"] = path;
    data["to"] = query.to;
    data["from"] = read.from;
    data["subject"] = query.subject;
    data["text"] = read.text;
    data["attachments"] = attachment_lines(read.attachments, path);
    data["size"] = size_words(message.size());
    data["message_id"] = query.message_id;
    data["made"] = day_words(query.made);
    data["made_by"] = query.made_by;
    if (query.sent) data["sent"] = day_words(*query.sent) + " by " + query.sent_by;
    if (query.sent && query.reply_due) data["reply_due"] = to_text(*query.reply_due);
    data["may_send"] = !query.sent && record::may_ask(file).has_value();
    return data;
}

// What this program attached itself, which a browser may show: nothing in it comes from a stranger.
Answer own_attachment(const desk::ReadAttachment& attachment) {
    if (attachment.media_type != "application/pdf" && attachment.media_type != "image/jpeg")
        return Answer::download(attachment.file_name, attachment.bytes);
    Answer answer = Answer::bytes(attachment.media_type, attachment.bytes);
    answer.headers.emplace("Content-Disposition",
                           "inline; filename*=UTF-8''" + percent_encoded(attachment.file_name));
    return answer;
}

json reply_data(const Visit& visit, const record::CaseFile& file, const record::Reply& reply) {
    const Request& request = visit.request;
    const std::string path = fmt::format("{}/reply/{}", hold_path(file.hold.number), reply.number);
    json data = case_head(file);
    data["title"] = fmt::format("Reply {}, {}", reply.number, file.hold.number);
    data["reply_path"] = path;
    data["from"] = reply.from;
    data["subject"] = reply.subject;
    data["received"] = day_words(reply.received);
    data["added_by"] = reply.added_by;
    data["text"] = reply.text;
    data["automatic"] = reply.automatic;
    json attachments = json::array();
    for (std::size_t i = 0; i < reply.attachments.size(); ++i)
        attachments.push_back(
            {{"name", reply.attachments[i].file_name},
             {"size", size_words(static_cast<std::size_t>(reply.attachments[i].size_bytes))},
             {"href", fmt::format("{}/attachment/{}", path, i + 1)}});
    data["attachments"] = attachments;
    data["has_attachments"] = !attachments.empty();
    if (reply.answer)
        data["answer"] = {{"words", record::words_for(reply.answer->answer)},
                          {"limit", reply.answer->limit},
                          {"passage", reply.answer->words},
                          {"by", reply.answer->entered_by},
                          {"day", day_words(reply.answer->entered)}};
    data["may_answer"] = !reply.automatic && !file.verdict;
    json answers = json::array();
    for (const record::MakersAnswer answer : record::all_makers_answers())
        answers.push_back({{"name", record::name_of(answer)},
                           {"words", record::words_for(answer)},
                           {"chosen", record::name_of(answer) == request.field("answer")}});
    data["answers"] = answers;
    data["limit"] = request.field("limit");
    data["passage"] = request.field("passage");
    json thread = json::array();
    for (const record::Query& query : file.queries)
        if (query.sent)
            thread.push_back(
                {{"sort", to_text(*query.sent)},
                 {"day", day_words(*query.sent)},
                 {"words", "asked " + query.to},
                 {"href", fmt::format("{}/query/{}", hold_path(file.hold.number), query.number)}});
    for (const record::Reply& other : file.replies)
        thread.push_back({{"sort", to_text(other.received)},
                          {"day", day_words(other.received)},
                          {"words", "reply from " + other.from},
                          {"here", other.number == reply.number},
                          {"href", fmt::format("{}/reply/{}", hold_path(file.hold.number), other.number)}});
    std::sort(thread.begin(), thread.end(),
              [](const json& a, const json& b) { return a.at("sort") < b.at("sort"); });
    data["thread"] = thread;
    return data;
}

}  // namespace

Answer ask_page(const Visit& visit, const std::string& hold) {
    const Request& request = visit.request;
    const record::CaseFile file = visit.desk.case_file(hold);
    if (!visit.is_post()) return visit.page("ask", ask_data(visit, file));
    try {
        desk::QueryOrder order;
        order.to = record::trimmed(request.field("to"));
        order.from = record::trimmed(request.field("from"));
        order.language = request.field("language").empty() ? "en" : request.field("language");
        order.questions = request.all("ask");
        order.own_words = record::trimmed(request.field("own_words"));
        order.substance = record::trimmed(request.field("substance"));
        order.outfit = record::trimmed(request.field("outfit"));
        order.reply_days = whole_number(request.field("reply_days"), "days to reply");
        const record::Query query = visit.desk.make_query(hold, order);
        return Answer::go_to(fmt::format("{}/query/{}", hold_path(hold), query.number));
    } catch (const Failure& failure) {
        return visit.page_again("ask", ask_data(visit, file), failure.error());
    }
}

Answer query_page(const Visit& visit, const std::string& hold, int number,
                  const std::vector<std::string>& rest) {
    const record::CaseFile file = visit.desk.case_file(hold);
    const record::Query& query = numbered(file.queries, number, hold, "letter");
    const std::string what = rest.empty() ? "" : rest[0];
    if (visit.is_post()) {
        if (what != "sent") return Answer::plain(404, "There is no such page.");
        try {
            (void)visit.desk.mark_sent(hold, number);
            return Answer::go_to(hold_path(hold));
        } catch (const Failure& failure) {
            return visit.page_again("query", query_data(visit, file, query), failure.error());
        }
    }
    if (what == "message")
        return Answer::download(fmt::format("{}-{}.eml", hold, number), visit.desk.kept_bytes(query.sha256));
    if (what == "attachment" && rest.size() == 2) {
        const desk::ReadReply read = visit.desk.read_message(query.sha256);
        const auto turn = static_cast<std::size_t>(whole_number(rest[1], "attachment"));
        if (turn < 1 || turn > read.attachments.size())
            return Answer::plain(404, "The letter has no such attachment.");
        return own_attachment(read.attachments[turn - 1]);
    }
    return visit.page("query", query_data(visit, file, query));
}

Answer add_reply_page(const Visit& visit, const std::string& hold) {
    const Request& request = visit.request;
    const record::CaseFile file = visit.desk.case_file(hold);
    json data = case_head(file);
    data["title"] = "Add a reply, " + hold;
    data["pasted"] = request.field("pasted");
    if (!visit.is_post()) return visit.page("reply_add", std::move(data));
    try {
        const auto upload = request.files.find("mail");
        std::string content = request.field("pasted");
        std::string name = "the pasted mail";
        if (upload != request.files.end() && !upload->second.content.empty()) {
            content = upload->second.content;
            name = upload->second.file_name;
        }
        if (record::is_blank(content))
            throw Failure(Fault::input, "mail", "nothing came", "choose the saved mail or paste its source");
        const record::Reply reply = visit.desk.add_reply(hold, std::as_bytes(std::span(content)), name);
        return Answer::go_to(fmt::format("{}/reply/{}", hold_path(hold), reply.number));
    } catch (const Failure& failure) {
        return visit.page_again("reply_add", std::move(data), failure.error());
    }
}

Answer reply_page(const Visit& visit, const std::string& hold, int number,
                  const std::vector<std::string>& rest) {
    const Request& request = visit.request;
    const record::CaseFile file = visit.desk.case_file(hold);
    const record::Reply& reply = numbered(file.replies, number, hold, "reply");
    const std::string what = rest.empty() ? "" : rest[0];
    if (visit.is_post()) {
        if (what != "answer") return Answer::plain(404, "There is no such page.");
        try {
            const auto answer = record::makers_answer_named(request.field("answer"));
            if (!answer)
                throw Failure(Fault::input, "answer", "none is chosen", "choose what the reply says");
            record::AnswerEntry entry;
            entry.answer = *answer;
            entry.limit = request.field("limit");
            entry.words = request.field("passage");
            (void)visit.desk.enter_answer(hold, number, entry);
            return Answer::go_to(hold_path(hold));
        } catch (const Failure& failure) {
            return visit.page_again("reply", reply_data(visit, file, reply), failure.error());
        }
    }
    if (what == "message")
        return Answer::download(fmt::format("{}-reply-{}.eml", hold, number),
                                visit.desk.kept_bytes(reply.sha256));
    if (what == "attachment" && rest.size() == 2) {
        const auto turn = static_cast<std::size_t>(whole_number(rest[1], "attachment"));
        if (turn < 1 || turn > reply.attachments.size())
            return Answer::plain(404, "The reply has no such attachment.");
        const record::Attachment& attachment = reply.attachments[turn - 1];
        return Answer::download(attachment.file_name, visit.desk.kept_bytes(attachment.sha256));
    }
    return visit.page("reply", reply_data(visit, file, reply));
}

}  // namespace frayhold::web
