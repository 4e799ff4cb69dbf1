// SPDX-License-Identifier: Apache-2.0
#include "desk/usual_setup.h"

#include <memory>

#include "desk/case_pack.h"
#include "desk/item_subject.h"
#include "desk/photo_measuring.h"
#include "desk/shipped.h"
#include "language/later.h"
#include "post/mailbox.h"
#include "post/reply_apart.h"
#include "record/photo_entry.h"

namespace frayhold::desk {
namespace {

// The photo's own camera facts, where the request knows no camera.
MeasuredPhoto measure_for_hold(const criteria::Table& table, const photo::Photo& photo,
                               const PhotoOrder& order, gauge::Request request, const record::Item& item) {
    if (request.camera.source.empty()) request.camera = camera_from_exif(photo);
    return measure_photo(photo, request, table, criteria_about(item), record::needs_card(order.role));
}

// "failed: gear@brandelvoss.example, 5.1.1, no such mailbox".
std::string delivery_words(const post::DeliveryReport& report) {
    std::string words = report.action.empty() ? tr_later("delivery report") : report.action;
    std::string_view between = ": ";
    for (const std::string* part : {&report.recipient, &report.status, &report.reason}) {
        if (part->empty()) continue;
        words += std::string(between) + *part;
        between = ", ";
    }
    return words;
}

ReadReply read_reply(std::span<const std::byte> message, const std::string& name) {
    post::ReplyMail mail = post::parse_reply_apart(message, name);
    ReadReply reply;
    reply.clues = post::hold_clues(mail);  // reads the whole mail: before anything is moved out of it
    reply.from = post::to_text(mail.from);
    reply.subject = std::move(mail.subject);
    reply.message_id = std::move(mail.message_id);
    reply.date = mail.date;
    reply.text = std::move(mail.text);
    for (post::IncomingAttachment& attachment : mail.attachments)
        reply.attachments.push_back(
            {std::move(attachment.file_name), std::move(attachment.media_type), std::move(attachment.bytes)});
    reply.automatic = mail.kind != post::ReplyKind::answer;
    if (mail.delivery) reply.delivery = delivery_words(*mail.delivery);
    return reply;
}

}  // namespace

Setup usual_setup(const store::Location& store, const std::string& who) {
    Setup setup;
    setup.store = store;
    setup.who = who;
    const auto table = std::make_shared<const criteria::Table>(usual_criteria());
    setup.criteria = table;
    setup.lives = std::make_shared<const criteria::LifeTable>(usual_lives());
    setup.measure = [table](const photo::Photo& photo, const PhotoOrder& order, const gauge::Request& request,
                            const record::Item& item) {
        return measure_for_hold(*table, photo, order, request, item);
    };
    setup.languages = std::make_shared<language::Languages>(language::usual_folders());
    setup.compose = compose_query;
    setup.read_reply = read_reply;
    return setup;
}

}  // namespace frayhold::desk
