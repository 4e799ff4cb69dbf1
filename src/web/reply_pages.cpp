// SPDX-License-Identifier: Apache-2.0
#include "web/reply_pages.h"

#include <fmt/format.h>

#include "language/recorded.h"
#include "language/tr.h"
#include "record/text.h"
#include "web/case_page.h"
#include "web/listing.h"
#include "web/thread.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

const record::Reply& reply_numbered(const record::CaseFile& file, int number) {
    for (const record::Reply& reply : file.replies)
        if (reply.number == number) return reply;
    throw Failure(Fault::input, trf("hold {}", file.hold.number), trf("there is no reply {}", number),
                  "look at the hold again");
}

json attachment_lines(const record::Reply& reply, const std::string& path) {
    json lines = json::array();
    for (std::size_t i = 0; i < reply.attachments.size(); ++i)
        lines.push_back({{"name", reply.attachments[i].file_name},
                         {"size", size_words(static_cast<std::size_t>(reply.attachments[i].size_bytes))},
                         {"href", fmt::format("{}/attachment/{}", path, i + 1)}});
    return lines;
}

json reply_data(const Visit& visit, const record::CaseFile& file, const record::Reply& reply) {
    const std::string path = fmt::format("{}/reply/{}", hold_path(file.hold.number), reply.number);
    json data = case_head(file);
    data["title"] = trf("Reply {}, {}", reply.number, file.hold.number);
    data["reply_path"] = path;
    data["from"] = reply.from;
    data["subject"] = tr_recorded(reply.subject);
    data["received"] = day_words(reply.received);
    data["added_by"] = reply.added_by;
    data["text"] = reply.text;
    data["automatic"] = reply.automatic;
    data["delivery"] = tr_recorded(reply.delivery);
    data["is_mail"] = reply.way == record::ReplyWay::mail;
    data["attachments"] = attachment_lines(reply, path);
    data["has_attachments"] = !reply.attachments.empty();
    if (reply.answer)
        data["answer"] = {{"words", record::words_for(reply.answer->answer)},
                          {"limit", reply.answer->limit},
                          {"passage", reply.answer->words},
                          {"by", reply.answer->entered_by},
                          {"day", day_words(reply.answer->entered)}};
    data["may_answer"] = !reply.automatic && !file.verdict && visit.may(Task::keep);
    data["answers"] = choices(record::all_makers_answers(), visit.request.field("answer"));
    data["limit"] = visit.request.field("limit");
    data["passage"] = visit.request.field("passage");
    data["thread"] = thread_of(file, path);
    return data;
}

// Mail where there is any, else the words that were written down.
record::Reply kept_reply(const Visit& visit, const std::string& hold) {
    const Request& request = visit.request;
    const auto upload = request.files.find("mail");
    if (upload != request.files.end() && !upload->second.content.empty())
        return visit.desk.add_reply(hold, upload->second.bytes(), upload->second.file_name);
    const std::string pasted = request.field("pasted");
    if (!record::is_blank(pasted))
        return visit.desk.add_reply(hold, std::as_bytes(std::span(pasted)), tr("the pasted mail"));
    if (record::is_blank(request.field("text")))
        throw Failure(Fault::input, tr("reply"), "nothing came",
                      "choose the saved mail, paste its source, or write down what was said");
    desk::WordsOrder order;
    order.way = request.field("way") == "phone" ? record::ReplyWay::phone : record::ReplyWay::pasted;
    order.from = request.field("from");
    order.text = request.field("text");
    return visit.desk.add_words(hold, order);
}

}  // namespace

Answer add_reply_page(const Visit& visit, const std::string& hold) {
    const Request& request = visit.request;
    const record::CaseFile file = visit.desk.case_file(hold);
    json data = case_head(file);
    data["title"] = trf("Add a reply, {}", hold);
    for (const char* field : {"pasted", "from", "text"}) data[field] = request.field(field);
    data["by_phone"] = request.field("way") == "phone";
    if (!visit.is_post()) return visit.page("reply_add", std::move(data));
    try {
        const record::Reply reply = kept_reply(visit, hold);
        return Answer::go_to(fmt::format("{}/reply/{}", hold_path(hold), reply.number));
    } catch (const Failure& failure) {
        return visit.page_again("reply_add", std::move(data), failure.error());
    }
}

Answer reply_page(const Visit& visit, const std::string& hold, int number,
                  const std::vector<std::string>& rest) {
    const record::CaseFile file = visit.desk.case_file(hold);
    const record::Reply& reply = reply_numbered(file, number);
    if (rest.empty()) return visit.page("reply", reply_data(visit, file, reply));
    if (rest[0] == "message" && rest.size() == 1)
        return Answer::download(fmt::format("{}-reply-{}.eml", hold, number),
                                visit.desk.kept_bytes(reply.sha256));
    if (rest[0] != "attachment" || rest.size() != 2) return Answer::plain(404, tr("There is no such page."));
    const auto turn = static_cast<std::size_t>(whole_number(rest[1], tr("attachment")));
    if (turn < 1 || turn > reply.attachments.size())
        return Answer::plain(404, tr("The reply has no such attachment."));
    const record::Attachment& attachment = reply.attachments[turn - 1];
    return Answer::download(attachment.file_name, visit.desk.kept_bytes(attachment.sha256));
}

Answer answer_page(const Visit& visit, const std::string& hold, int number) {
    const Request& request = visit.request;
    try {
        const auto answer = record::makers_answer_named(request.field("answer"));
        if (!answer)
            throw Failure(Fault::input, tr("answer"), "none is chosen", "choose what the reply says");
        record::AnswerEntry entry;
        entry.answer = *answer;
        entry.limit = request.field("limit");
        entry.words = request.field("passage");
        (void)visit.desk.enter_answer(hold, number, entry);
        return Answer::go_to(hold_path(hold));
    } catch (const Failure& failure) {
        const record::CaseFile file = visit.desk.case_file(hold);
        return visit.page_again("reply", reply_data(visit, file, reply_numbered(file, number)),
                                failure.error());
    }
}

}  // namespace frayhold::web
