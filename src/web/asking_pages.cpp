// SPDX-License-Identifier: Apache-2.0
#include "web/asking_pages.h"

#include <fmt/format.h>

#include <algorithm>

#include "desk/disclosure.h"
#include "language/error_words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "pack/letter.h"
#include "record/rules.h"
#include "record/text.h"
#include "web/case_page.h"
#include "web/post_pages.h"
#include "web/thread.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

// What was typed, else what is known of this maker, else what was written last time.
json letter_fields(const Visit& visit, const record::CaseFile& file,
                   const std::optional<record::Maker>& maker) {
    const Request& request = visit.request;
    json fields{{"to", ""}, {"reply_days", std::to_string(desk::usual_reply_days)}, {"language", "en"}};
    fields["from"] = visit.house.post ? visit.house.post->from : "";
    fields["outfit"] = visit.house.outfit;
    fields["mail_limit"] = "";
    if (!file.queries.empty()) fields["to"] = file.queries.back().to;
    if (maker) {
        if (file.queries.empty()) fields["to"] = maker->addresses.front();
        fields["language"] = maker->language;
        if (maker->reply_days) fields["reply_days"] = std::to_string(*maker->reply_days);
        if (maker->mail_limit_bytes)
            fields["mail_limit"] = std::to_string(*maker->mail_limit_bytes / bytes_per_mb);
    }
    for (const char* field :
         {"to", "from", "own_words", "substance", "outfit", "reply_days", "language", "mail_limit"})
        if (visit.is_post() || !request.field(field).empty()) fields[field] = request.field(field);
    return fields;
}

json question_lines(const Request& request) {
    const std::vector<std::string> chosen = request.all("ask");
    json questions = json::array();
    for (const pack::LetterQuestion& question : pack::letter_questions())
        questions.push_back(
            {{"key", question.key},
             {"words", tr_word(question.words)},
             {"chosen", std::find(chosen.begin(), chosen.end(), question.key) != chosen.end() ||
                            (request.method != "POST" && question.key == "fit")}});
    return questions;
}

json disclosed_lines(const std::vector<desk::DisclosedLine>& lines) {
    json list = json::array();
    for (const desk::DisclosedLine& line : lines)
        list.push_back({{"what", line.what}, {"detail", line.detail}});
    return list;
}

void add_disclosure(json& data, const Visit& visit, const record::CaseFile& file) {
    const desk::Disclosure leaves = desk::what_leaves(
        file, [&](const std::string& sha256) { return visit.desk.kept_bytes(sha256); }, visit.who);
    data["has_disclosed"] = true;
    data["disclosed"] = disclosed_lines(leaves.sent);
    data["kept_back"] = disclosed_lines(leaves.kept_back);
}

json ask_data(const Visit& visit, const record::CaseFile& file) {
    const std::optional<record::Maker> maker = visit.desk.maker_of(file.hold.number);
    json data = case_head(file);
    data.update(letter_fields(visit, file, maker));
    data["title"] = trf("Ask the maker, {}", file.hold.number);
    data["maker"] = file.item.maker;
    data["maker_href"] = "/maker?name=" + percent_encoded(file.item.maker);
    if (maker) {
        data["known"] = true;
        data["addresses"] = maker->addresses;
        data["maker_note"] = maker->note;
    }
    data["questions"] = question_lines(visit.request);
    data["languages"] = language_lines(data["language"].get<std::string>());
    data["may_remind"] = file.hold.state == record::HoldState::asked;
    const Result<void> may = record::may_ask(file);
    data["may_ask"] = may.has_value();
    if (may) add_disclosure(data, visit, file);
    if (!may) data["refusal"] = error_words(may.error());
    return data;
}

desk::QueryOrder order_of(const Request& request) {
    desk::QueryOrder order;
    order.to = record::trimmed(request.field("to"));
    order.from = record::trimmed(request.field("from"));
    order.language = request.field("language");
    order.own_words = record::trimmed(request.field("own_words"));
    order.outfit = record::trimmed(request.field("outfit"));
    order.reminder = !request.field("reminder").empty();
    if (!record::is_blank(request.field("reply_days")))
        order.reply_days = whole_number(record::trimmed(request.field("reply_days")), tr("days to reply"));
    if (order.reminder) return order;
    order.questions = request.all("ask");
    order.substance = record::trimmed(request.field("substance"));
    if (!record::is_blank(request.field("mail_limit"))) {
        const int limit_mb = whole_number(record::trimmed(request.field("mail_limit")), tr("mail limit"));
        constexpr int most_mb = 1000;
        if (limit_mb < 1 || limit_mb > most_mb)
            throw Failure(Fault::input, tr("mail limit"), trf("{} MB is out of range", limit_mb),
                          trf("give 1 to {} MB, or leave it empty", most_mb));
        order.mail_limit_bytes = limit_mb * bytes_per_mb;
    }
    return order;
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

const record::Query& query_numbered(const record::CaseFile& file, int number) {
    for (const record::Query& query : file.queries)
        if (query.number == number) return query;
    throw Failure(Fault::input, trf("hold {}", file.hold.number), trf("there is no letter {}", number),
                  "look at the hold again");
}

json try_lines(const record::Posting& posting) {
    json lines = json::array();
    for (const record::PostTry& one : posting.tries)
        lines.push_back({{"when", minute_words(one.started)},
                         {"words", one.words.empty() ? tr("not ended yet") : tr_recorded(one.words)}});
    return lines;
}

// Which buttons there are depends on where the letter is in the post.
void add_post(json& data, const Visit& visit, const record::CaseFile& file, const record::Query& query) {
    using record::PostState;
    const bool open = !query.sent && record::may_ask(file).has_value() && visit.may(Task::keep);
    // One that was never put into the post is as free as one that was taken back.
    const PostState state = query.posting ? query.posting->state : PostState::withdrawn;
    const bool free = state == PostState::withdrawn;
    data["has_account"] = visit.house.post && visit.house.post->send;
    data["may_send"] = open && free;
    data["may_withdraw"] = open && state == PostState::waiting;
    data["unsure"] = open && state == PostState::unsure;
    data["refused"] = open && state == PostState::refused;
    data["by_hand"] = open && (free || state == PostState::refused);
    if (!query.posting) return;
    data["post_state"] = state_words(query);
    // Translators: a day or a minute, and who did it then: "2026-02-28 by Ida Fenwright".
    data["queued"] = trf("{0} by {1}", minute_words(query.posting->queued), query.posting->queued_by);
    data["tries"] = try_lines(*query.posting);
    data["has_tries"] = !query.posting->tries.empty();
}

json query_data(const Visit& visit, const record::CaseFile& file, const record::Query& query) {
    const std::vector<std::byte> message = visit.desk.kept_bytes(query.sha256);
    const desk::ReadReply read = visit.desk.read_message(query.sha256);
    const std::string path = fmt::format("{}/query/{}", hold_path(file.hold.number), query.number);
    json data = case_head(file);
    data["title"] = trf("Letter {}, {}", query.number, file.hold.number);
    data["query_path"] = path;
    data["to"] = query.to;
    data["from"] = read.from;
    data["subject"] = query.subject;
    data["text"] = read.text;
    data["attachments"] = attachment_lines(read.attachments, path);
    data["has_attachments"] = !read.attachments.empty();
    data["size"] = size_words(message.size());
    data["message_id"] = query.message_id;
    data["made"] = day_words(query.made);
    data["made_by"] = query.made_by;
    data["thread"] = thread_of(file, path);
    if (query.sent) data["sent"] = trf("{0} by {1}", day_words(*query.sent), query.sent_by);
    if (query.sent && query.reply_due) data["reply_due"] = to_text(*query.reply_due);
    add_post(data, visit, file, query);
    if (data["may_send"].get<bool>() && !read.attachments.empty()) add_disclosure(data, visit, file);
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

void send_now(const Visit& visit, const std::string& hold, int number, bool is_queued) {
    if (!visit.house.post || !visit.house.post->send)
        throw Failure(Fault::refused, tr("mail account"), "none is named that sends",
                      "start the bench with --account, or send the saved mail by hand");
    if (!is_queued) (void)visit.desk.queue_query(hold, number);
    const desk::OutboxRun run =
        visit.desk.run_outbox(visit.house.post->send, desk::OutboxQuery{hold, number});
    // Where it stands is on the letter's page; what stopped the post is said here.
    if (run.stopped) throw Failure(*run.stopped);
}

}  // namespace

Answer ask_page(const Visit& visit, const std::string& hold) {
    const record::CaseFile file = visit.desk.case_file(hold);
    if (!visit.is_post()) return visit.page("ask", ask_data(visit, file));
    try {
        const record::Query query = visit.desk.make_query(hold, order_of(visit.request));
        return Answer::go_to(fmt::format("{}/query/{}", hold_path(hold), query.number));
    } catch (const Failure& failure) {
        return visit.page_again("ask", ask_data(visit, file), failure.error());
    }
}

Answer query_page(const Visit& visit, const std::string& hold, int number,
                  const std::vector<std::string>& rest) {
    const record::CaseFile file = visit.desk.case_file(hold);
    const record::Query& query = query_numbered(file, number);
    if (rest.empty()) return visit.page("query", query_data(visit, file, query));
    if (rest[0] == "message" && rest.size() == 1)
        return Answer::download(fmt::format("{}-{}.eml", hold, number), visit.desk.kept_bytes(query.sha256));
    if (rest[0] != "attachment" || rest.size() != 2) return Answer::plain(404, tr("There is no such page."));
    const desk::ReadReply read = visit.desk.read_message(query.sha256);
    const auto turn = static_cast<std::size_t>(whole_number(rest[1], tr("attachment")));
    if (turn < 1 || turn > read.attachments.size())
        return Answer::plain(404, tr("The letter has no such attachment."));
    return own_attachment(read.attachments[turn - 1]);
}

Answer query_action(const Visit& visit, const std::string& hold, int number, const std::string& action) {
    desk::Desk& desk = visit.desk;
    try {
        if (action == "send")
            send_now(visit, hold, number, false);
        else if (action == "queue")
            (void)desk.queue_query(hold, number);
        else if (action == "withdraw")
            (void)desk.withdraw_query(hold, number);
        else if (action == "was_sent")
            (void)desk.settle_query(hold, number, desk::PostDecision::was_sent);
        else if (action == "again") {
            (void)desk.settle_query(hold, number, desk::PostDecision::send_again);
            if (visit.house.post && visit.house.post->send) send_now(visit, hold, number, true);
        } else if (action == "sent")
            (void)desk.mark_sent(hold, number);
        else
            return Answer::plain(404, tr("There is no such page."));
    } catch (const Failure& failure) {
        const record::CaseFile file = desk.case_file(hold);
        return visit.page_again("query", query_data(visit, file, query_numbered(file, number)),
                                failure.error());
    }
    return Answer::go_to(fmt::format("{}/query/{}", hold_path(hold), number));
}

}  // namespace frayhold::web
