// SPDX-License-Identifier: Apache-2.0
#include "web/post_pages.h"

#include <fmt/format.h>

#include <algorithm>

#include "desk/shipped.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "pack/letter.h"
#include "record/text.h"
#include "web/listing.h"
#include "web/thread.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

json outbox_lines(const Visit& visit) {
    json lines = json::array();
    for (const desk::OutboxLine& line : visit.desk.outbox(false)) {
        const record::Posting& posting = line.query.posting.value();
        const bool asks =
            posting.state == record::PostState::unsure || posting.state == record::PostState::refused;
        lines.push_back({{"hold", line.hold},
                         {"number", line.query.number},
                         {"to", line.query.to},
                         {"state", state_words(line.query)},
                         {"asks", asks},
                         {"last", posting.tries.empty() ? "" : tr_recorded(posting.tries.back().words)},
                         {"href", fmt::format("{}/query/{}", hold_path(line.hold), line.query.number)}});
    }
    return lines;
}

json mail_lines(const Visit& visit) {
    json lines = json::array();
    for (const record::UnplacedMail& mail : visit.desk.unplaced_mails())
        lines.push_back({{"number", mail.number},
                         {"from", mail.from},
                         {"subject", mail.subject},
                         {"day", day_words(mail.received)},
                         {"why", tr_recorded(mail.why)},
                         {"text", mail.text},
                         {"path", fmt::format("/post/mail/{}", mail.number)}});
    return lines;
}

json post_data(const Visit& visit) {
    json makers = json::array();
    for (const record::Maker& maker : visit.desk.makers())
        makers.push_back({{"name", maker.name},
                          {"to", maker.addresses.front()},
                          {"href", "/maker?name=" + percent_encoded(maker.name)}});
    json data{{"title", tr("Letters")}, {"outbox", outbox_lines(visit)}, {"mails", mail_lines(visit)}};
    data["has_outbox"] = !data["outbox"].empty();
    data["has_mails"] = !data["mails"].empty();
    data["has_makers"] = !makers.empty();
    data["makers"] = std::move(makers);
    data["account"] = visit.house.post ? visit.house.post->from : "";
    data["sent"] = visit.request.field("sent");
    data["placed"] = visit.request.field("placed");
    data["unplaced"] = visit.request.field("unplaced");
    data["ran"] = !visit.request.field("sent").empty();
    return data;
}

json maker_data(const Visit& visit, const std::optional<record::Maker>& known) {
    const Request& request = visit.request;
    json data{{"name", request.field("name")}, {"known", known.has_value()}};
    data["title"] = known ? known->name : tr("A maker for the book");
    json fields{{"addresses", ""}, {"language", "en"}, {"mail_limit", ""}, {"reply_days", ""}, {"note", ""}};
    if (known) {
        fields["addresses"] = fmt::format("{}", fmt::join(known->addresses, "\n"));
        fields["language"] = known->language;
        if (known->mail_limit_bytes)
            fields["mail_limit"] = std::to_string(*known->mail_limit_bytes / bytes_per_mb);
        if (known->reply_days) fields["reply_days"] = std::to_string(*known->reply_days);
        fields["note"] = known->note;
    }
    if (visit.is_post())
        for (auto& [field, value] : fields.items()) value = request.field(field);
    data.update(fields);
    data["usual_days"] = desk::usual_reply_days;
    data["languages"] = language_lines(data["language"].get<std::string>());
    return data;
}

void put_into(record::Maker& maker, const Request& request) {
    maker.addresses = parts_typed(request.field("addresses"), "\n");
    maker.language = request.field("language");
    maker.note = record::trimmed(request.field("note"));
    const std::string limit = record::trimmed(request.field("mail_limit"));
    const std::string days = record::trimmed(request.field("reply_days"));
    maker.mail_limit_bytes.reset();
    if (!limit.empty()) maker.mail_limit_bytes = whole_number(limit, tr("mail limit")) * bytes_per_mb;
    maker.reply_days.reset();
    if (!days.empty()) maker.reply_days = whole_number(days, tr("days to reply"));
}

std::optional<record::Maker> maker_named(const Visit& visit, const std::string& name) {
    for (record::Maker& maker : visit.desk.makers())
        if (maker.name == name) return std::move(maker);
    return std::nullopt;
}

}  // namespace

json language_lines(const std::string& chosen) {
    json languages = json::array();
    for (const std::string& each : pack::letter_languages(desk::shipped_folders("templates/letters")))
        languages.push_back({{"name", each}, {"chosen", each == chosen}});
    return languages;
}

Answer post_page(const Visit& visit) {
    return visit.page("post", post_data(visit));
}

Answer post_run(const Visit& visit) {
    try {
        if (!visit.house.post)
            throw Failure(Fault::refused, tr("mail account"), "none is named",
                          "start the bench with --account");
        std::size_t sent = 0;
        if (visit.house.post->send) {
            const desk::OutboxRun run = visit.desk.run_outbox(visit.house.post->send);
            if (run.stopped) throw Failure(*run.stopped);
            sent = static_cast<std::size_t>(
                std::count_if(run.tried.begin(), run.tried.end(),
                              [](const desk::OutboxLine& line) { return line.query.sent.has_value(); }));
        }
        desk::InboxRun fetched;
        if (visit.house.post->replies) fetched = visit.desk.fetch_replies(*visit.house.post->replies);
        return Answer::go_to(fmt::format("/post?sent={}&placed={}&unplaced={}", sent, fetched.placed.size(),
                                         fetched.unplaced.size()));
    } catch (const Failure& failure) {
        return visit.page_again("post", post_data(visit), failure.error());
    }
}

Answer place_mail(const Visit& visit, int number) {
    const Request& request = visit.request;
    try {
        if (!request.field("aside").empty()) {
            (void)visit.desk.set_mail_aside(number, request.field("reason"));
            return Answer::go_to("/post");
        }
        const record::Reply reply = visit.desk.place_mail(number, record::trimmed(request.field("hold")));
        return Answer::go_to(fmt::format("{}/reply/{}", hold_path(reply.hold), reply.number));
    } catch (const Failure& failure) {
        return visit.page_again("post", post_data(visit), failure.error());
    }
}

Answer maker_page(const Visit& visit) {
    const std::string name = record::trimmed(visit.request.field("name"));
    const std::optional<record::Maker> known = maker_named(visit, name);
    if (!visit.is_post()) return visit.page("maker", maker_data(visit, known));
    try {
        if (known) {
            (void)visit.desk.edit_maker(name, [&](record::Maker& maker) { put_into(maker, visit.request); });
        } else {
            record::Maker maker;
            maker.name = name;
            put_into(maker, visit.request);
            (void)visit.desk.add_maker(maker);
        }
        return Answer::go_to("/post#makers");
    } catch (const Failure& failure) {
        return visit.page_again("maker", maker_data(visit, known), failure.error());
    }
}

}  // namespace frayhold::web
