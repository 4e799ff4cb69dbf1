// SPDX-License-Identifier: Apache-2.0
#include "web/batch_page.h"

#include "language/tr.h"
#include "record/text.h"
#include "web/item_pages.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

std::optional<Date> date_typed(const Request& request, const std::string& field) {
    const std::string text = record::trimmed(request.field(field));
    if (text.empty()) return std::nullopt;
    const std::optional<Date> date = record::parse_label_date(text);
    if (!date)
        throw Failure(Fault::input, tr("date made"), trf("\"{}\" is no date", record::as_plain_text(text)),
                      "give one such as 2019-03-14, 2019-03 or 2019");
    return date;
}

desk::BatchNotice notice_of(const Request& request) {
    desk::BatchNotice notice;
    notice.maker = record::trimmed(request.field("maker"));
    notice.model = record::trimmed(request.field("model"));
    notice.batch = record::trimmed(request.field("batch"));
    notice.made_from = date_typed(request, "made_from");
    notice.made_to = date_typed(request, "made_to");
    notice.words = request.field("words");
    return notice;
}

json mark_lines(const std::vector<record::Item>& items) {
    json lines = json::array();
    for (const record::Item& item : items)
        lines.push_back({{"mark", item.mark},
                         {"href", item_path(item.mark)},
                         {"status", record::words_for(item.status)},
                         {"batch", item.batch.empty() ? tr("not recorded") : item.batch}});
    return lines;
}

}  // namespace

Answer batch_page(const Visit& visit) {
    const Request& request = visit.request;
    json data{{"title", tr("A maker's notice")}};
    for (const char* field : {"maker", "model", "batch", "made_from", "made_to", "words"})
        data[field] = request.field(field);
    if (!visit.is_post()) return visit.page("batch", std::move(data));
    try {
        const desk::BatchNotice notice = notice_of(request);
        const bool act = request.field("do") == "act";
        const desk::BatchPlan plan =
            act ? visit.desk.batch_hold(notice) : visit.desk.preview_batch_hold(notice);
        if (act) return Answer::go_to("/");
        data["has_plan"] = true;
        data["to_hold"] = mark_lines(plan.to_hold);
        data["count"] = trn("{} item would go on hold", "{} items would go on hold", plan.to_hold.size());
        data["may_act"] = !plan.to_hold.empty();
        data["unknown"] = mark_lines(plan.taken_in_unknown);
        data["has_unknown"] = !plan.taken_in_unknown.empty();
        data["held"] = mark_lines(plan.already_held);
        data["has_held"] = !plan.already_held.empty();
        data["out"] = mark_lines(plan.out_of_service);
        data["has_out"] = !plan.out_of_service.empty();
        return visit.page("batch", std::move(data));
    } catch (const Failure& failure) {
        return visit.page_again("batch", std::move(data), failure.error());
    }
}

}  // namespace frayhold::web
