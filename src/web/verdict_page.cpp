// SPDX-License-Identifier: Apache-2.0
#include "web/verdict_page.h"

#include <fmt/format.h>

#include "language/tr.h"
#include "record/item.h"
#include "record/rules.h"
#include "record/text.h"
#include "web/case_page.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

// The form has room for so many parts; more are rare, and the command line takes any number.
constexpr int part_rows = 4;

json verdict_data(const Visit& visit, const record::CaseFile& file) {
    const Request& request = visit.request;
    const Date today = visit.desk.today();
    json data = case_head(file);
    data["title"] = trf("Verdict, {}", file.hold.number);
    for (const char* field : {"by", "reason", "limit", "scrapped", "witness"})
        data[field] = request.field(field);
    // A phone's verdict bears its holder's name.
    if (visit.holder) data["by"] = visit.who;
    data["by_holder"] = visit.holder.has_value();
    json kinds = json::array();
    for (const record::VerdictKind kind : record::all_verdict_kinds()) {
        if (kind == record::VerdictKind::cut_and_keep_parts && !record::can_be_cut(file.item.kind)) continue;
        record::Verdict trial;
        trial.kind = kind;
        kinds.push_back({{"name", record::name_of(kind)},
                         {"words", record::words_for(kind)},
                         {"chosen", record::name_of(kind) == request.field("kind")},
                         {"against", recorded_lines(record::rules_against(file, trial, today))}});
    }
    data["kinds"] = kinds;
    data["may_cut"] = record::can_be_cut(file.item.kind);
    if (file.item.length) data["length"] = record::length_words(*file.item.length);
    const std::vector<std::string> marks = request.all("part_mark"), lengths = request.all("part_length");
    json parts = json::array();
    for (std::size_t i = 0; i < part_rows; ++i)
        parts.push_back({{"number", i + 1},
                         {"mark", i < marks.size() ? marks[i] : ""},
                         {"length", i < lengths.size() ? lengths[i] : ""}});
    data["parts"] = parts;
    data["advice"] = advice_lines(file.all_advice());
    data["missing"] = record::missing_evidence(file);
    data["has_missing"] = !record::missing_evidence(file).empty();
    if (const auto answer = file.makers_answer())
        data["answer"] = {{"words", record::words_for(answer->answer)},
                          {"limit", answer->limit},
                          {"passage", answer->words}};
    return data;
}

desk::VerdictOrder order_of(const Visit& visit) {
    const Request& request = visit.request;
    desk::VerdictOrder order;
    const auto kind = record::verdict_kind_named(request.field("kind"));
    if (!kind)
        throw Failure(Fault::input, tr("verdict"), "none is chosen", "choose what is to become of the item");
    order.kind = *kind;
    order.by = visit.holder ? visit.who : record::trimmed(request.field("by"));
    order.reason = request.field("reason");
    order.limit = request.field("limit");
    order.witness = request.field("witness");
    if (*kind != record::VerdictKind::cut_and_keep_parts) return order;
    const std::vector<std::string> marks = request.all("part_mark"), lengths = request.all("part_length");
    for (std::size_t i = 0; i < marks.size() && i < lengths.size(); ++i) {
        if (record::is_blank(marks[i]) && record::is_blank(lengths[i])) continue;
        const std::string name = trf("length of part {}", i + 1);
        const auto length = length_typed(lengths[i], name);
        if (!length) throw Failure(Fault::input, name, "it is missing", "give one such as 12 m");
        order.parts.push_back({record::trimmed(marks[i]), *length});
    }
    order.scrapped = length_typed(request.field("scrapped"), tr("length cut out"));
    return order;
}

}  // namespace

Answer verdict_page(const Visit& visit, const std::string& hold) {
    const record::CaseFile file = visit.desk.case_file(hold);
    if (!visit.is_post()) return visit.page("verdict", verdict_data(visit, file));
    try {
        (void)visit.desk.give_verdict(hold, order_of(visit));
        return Answer::go_to(hold_path(hold));
    } catch (const Failure& failure) {
        return visit.page_again("verdict", verdict_data(visit, file), failure.error());
    }
}

}  // namespace frayhold::web
