// SPDX-License-Identifier: Apache-2.0
#include "web/item_pages.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "language/recorded.h"
#include "language/tr.h"
#include "record/csv.h"
#include "record/item_csv.h"
#include "record/rules.h"
#include "record/text.h"
#include "web/case_page.h"
#include "web/check_pages.h"
#include "web/listing.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

// ---- One item ----

json journal_lines(const std::vector<record::JournalEntry>& journal) {
    json lines = json::array();
    for (auto entry = journal.rbegin(); entry != journal.rend(); ++entry)
        lines.push_back({{"day", day_words(entry->time)},
                         {"who", entry->who},
                         {"action", record::action_words(entry->action)},
                         {"subject", entry->subject}});
    return lines;
}

json years_of(const desk::ItemHistory& history, Date today) {
    json years = json::array();
    const int first =
        history.journal.empty() ? int(today.year()) : int(day_of(history.journal.front().time).year());
    for (int year = int(today.year()); year >= first; --year) years.push_back(year);
    return years;
}

// ---- The form ----

struct FieldWords {
    const char* name;
    const char* label;
    const char* hint;
};

// In the order in which a label and an invoice give them.
constexpr std::array form_fields{
    FieldWords{"serial", tr_later("Serial number"), ""},
    FieldWords{"maker", tr_later("Maker"), ""},
    FieldWords{"model", tr_later("Model"), ""},
    FieldWords{"batch", tr_later("Batch"), ""},
    FieldWords{"standard", tr_later("Standard marked on it"), "EN 1891 A"},
    FieldWords{"material", tr_later("Material"), tr_later("polyamide")},
    FieldWords{"length_mm", tr_later("Length"), "45 m"},
    FieldWords{"diameter_or_width_mm", tr_later("Diameter or width as sold"), "11 mm"},
    FieldWords{"sheath_colour", tr_later("Colour"), ""},
    FieldWords{"core_colour", tr_later("Colour of the core"), ""},
    FieldWords{"made", tr_later("Made"), "2022-04"},
    FieldWords{"bought", tr_later("Bought"), "2022-06-01"},
    FieldWords{"first_used", tr_later("First used"), "2022-06-13"},
    FieldWords{"supplier", tr_later("Who sold it"), ""},
    FieldWords{"place", tr_later("Where it is kept"), ""},
    FieldWords{"kit", tr_later("Kit it belongs to"), ""},
    FieldWords{"used_by", tr_later("Who uses it, where it is one person's"), ""},
    FieldWords{"life_years_from_made", tr_later("Years it lasts from the date made"), ""},
    FieldWords{"life_years_from_first_use", tr_later("Years it lasts from first use"), ""},
    FieldWords{"life_source", tr_later("Where the maker says so"), ""},
};

// Those that have a place of their own in the form, or that only a file has.
constexpr std::array further_fields{
    FieldWords{"mark", tr_later("Mark"), ""},
    FieldWords{"kind", tr_later("Kind"), ""},
    FieldWords{"use", tr_later("How often it is used"), ""},
    FieldWords{"note", tr_later("Note"), ""},
    FieldWords{"status", tr_later("State"), ""},
    FieldWords{"limit", tr_later("Limit"), ""},
    FieldWords{"parent", tr_later("Cut from"), ""},
};

std::string label_of(const std::string& name) {
    for (const FieldWords& field : form_fields)
        if (field.name == name) return tr_word(field.label);
    for (const FieldWords& field : further_fields)
        if (field.name == name) return tr_word(field.label);
    return name;
}

// What was typed, or what the item has.
json form_data(const Visit& visit, const std::optional<record::Item>& item) {
    const Request& request = visit.request;
    const auto value = [&](const std::string& name) {
        if (visit.is_post()) return request.field(name);
        return item ? record::field_text(*item, name) : std::string();
    };
    json data{{"title", item ? trf("Change {}", item->mark) : tr("New item")}, {"known", item.has_value()}};
    data["mark"] = item ? item->mark : request.field("mark");
    json fields = json::array();
    for (const FieldWords& field : form_fields)
        fields.push_back({{"name", field.name},
                          {"label", tr_word(field.label)},
                          {"hint", tr_word(field.hint)},
                          {"value", value(field.name)}});
    data["fields"] = fields;
    data["kinds"] = choices(record::all_kinds(), value("kind"));
    data["uses"] = choices(record::all_use_rates(), value("use"));
    data["note"] = value("note");
    data["back"] = item ? item_path(item->mark) : "/items";
    return data;
}

record::Item typed_item(const Request& request) {
    record::Item item;
    const auto set = [&](const std::string& name) {
        const std::string text = record::trimmed(request.field(name));
        if (text.empty()) return;
        if (Result<void> done = record::set_field(item, name, text); !done) throw Failure(done.error());
    };
    for (const FieldWords& field : form_fields) set(field.name);
    for (const char* name : {"mark", "kind", "use", "note"}) set(name);
    return item;
}

// ---- A file ----

// By the selects of the form; headings that it does not name are matched by their words.
desk::ColumnMap chosen_columns(const Request& request) {
    desk::ColumnMap map;
    const std::vector<std::string> headings = request.all("heading"), fields = request.all("field");
    for (std::size_t i = 0; i < headings.size() && i < fields.size(); ++i) map[headings[i]] = fields[i];
    return map;
}

json column_lines(const std::vector<desk::ImportColumn>& columns) {
    json lines = json::array();
    for (const desk::ImportColumn& column : columns) {
        json fields = json::array();
        for (const std::string& field : record::item_fields())
            fields.push_back(
                {{"name", field}, {"words", label_of(field)}, {"chosen", field == column.field}});
        lines.push_back({{"heading", column.heading},
                         {"left_out", column.field.empty()},
                         {"fields", fields},
                         {"number", lines.size() + 1}});
    }
    return lines;
}

// Which field each heading speaks of, also where the whole cannot be used yet.
std::vector<desk::ImportColumn> guessed_columns(const std::string& csv, const desk::ColumnMap& map) {
    std::vector<desk::ImportColumn> columns;
    const Result<std::vector<record::CsvRow>> rows = record::parse_csv(csv);
    if (!rows || rows->empty()) return columns;
    for (const std::string& heading : rows->front().cells) {
        const auto at = map.find(heading);
        columns.push_back({heading, at == map.end() ? record::field_for_heading(heading) : at->second});
    }
    return columns;
}

json plan_data(const desk::ImportPlan& plan) {
    constexpr std::size_t most_shown = 30;
    json data{{"ready", plan.refused.empty() && !plan.items.empty()}, {"has_plan", true}};
    data["columns"] = column_lines(plan.columns);
    data["count"] = trn("{} item would come in", "{} items would come in", plan.items.size());
    data["refused_count"] = trn("{} row cannot come in", "{} rows cannot come in", plan.refused.size());
    data["has_refused"] = !plan.refused.empty();
    json refused = json::array();
    for (std::size_t i = 0; i < std::min(plan.refused.size(), most_shown); ++i)
        refused.push_back({{"line", plan.refused[i].line}, {"reason", tr_recorded(plan.refused[i].reason)}});
    data["refused"] = refused;
    json items = json::array();
    for (std::size_t i = 0; i < std::min(plan.items.size(), most_shown); ++i)
        items.push_back({{"mark", plan.items[i].mark},
                         {"kind", record::words_for(plan.items[i].kind)},
                         {"maker", plan.items[i].maker},
                         {"model", plan.items[i].model},
                         {"made", plan.items[i].made ? to_text(*plan.items[i].made) : ""}});
    data["items"] = items;
    if (plan.items.size() > most_shown) data["further"] = trf("and {} more", plan.items.size() - most_shown);
    return data;
}

// The text that is looked over: just uploaded, or of the step before.
std::string import_text(const Visit& visit, std::string& key) {
    const auto upload = visit.request.files.find("csv");
    if (upload != visit.request.files.end() && !upload->second.content.empty()) {
        key = visit.house.texts.put(upload->second.content);
        return upload->second.content;
    }
    key = visit.request.field("key");
    if (key.empty()) throw Failure(Fault::input, tr("file"), "none came", "choose a CSV file");
    if (std::optional<std::string> text = visit.house.texts.find(key)) return *std::move(text);
    throw Failure(Fault::input, tr("file"), "it is no longer at hand", "choose it again");
}

// Who had it destroyed, who saw it, and why.
std::string destroyed_words(const desk::DestroyedItem& line) {
    const std::string words = line.witness.empty() ? trf("{}; seen by nobody named", line.by)
                                                   : trf("{}; seen by {}", line.by, line.witness);
    return line.reason.empty() ? words : words + ": " + line.reason;
}

}  // namespace

json check_lines(const std::vector<record::ItemCheck>& checks) {
    json lines = json::array();
    for (const record::ItemCheck& check : checks) {
        json findings = json::array();
        for (const record::Finding& finding : check.findings) findings.push_back(finding_line(finding));
        lines.push_back({{"day", day_words(*check.done)},
                         {"by", check.done_by},
                         {"result", record::words_for(*check.result)},
                         {"words", check.words},
                         {"against", recorded_lines(check.against)},
                         {"findings", findings},
                         {"round", check.round},
                         {"href", sheet_path(check.round, check.item)}});
    }
    return lines;
}

std::string item_path(const std::string& mark) {
    return "/item?mark=" + percent_encoded(mark);
}

Answer items_page(const Visit& visit) {
    const Request& request = visit.request;
    const Paging paging(request);
    const std::string words = request.field("words"), kit = request.field("kit"),
                      place = request.field("place"), status = request.field("status");
    desk::ItemFilter filter;
    filter.text = words;
    filter.kit = kit;
    filter.place = place;
    filter.status = record::item_status_named(status);
    filter.limit = paging.limit();
    filter.offset = paging.offset();
    json lines = json::array();
    for (const record::Item& item : visit.desk.find_items(filter))
        lines.push_back(
            {{"mark", item.mark},
             {"href", item_path(item.mark)},
             {"what", record::trimmed(item.maker + " " + item.model)},
             {"kind", record::words_for(item.kind)},
             {"status", record::words_for(item.status)},
             {"out", !record::is_in_service(item.status)},
             {"limit", item.limit},
             {"where", fmt::format("{}{}{}", item.kit, item.kit.empty() || item.place.empty() ? "" : ", ",
                                   item.place)}});
    json data{{"title", tr("Items")}, {"words", words}, {"kit", kit}, {"place", place}, {"status", status}};
    data["statuses"] = choices(record::all_item_statuses(), status);
    data["narrowed"] = !words.empty() || !kit.empty() || !place.empty() || !status.empty();
    data["export_href"] = path_with("/items/out", {{"words", words}, {"kit", kit}, {"place", place}});
    paging.put_into(data, lines, "/items",
                    {{"words", words}, {"kit", kit}, {"place", place}, {"status", status}});
    return visit.page("items", std::move(data));
}

Answer item_page(const Visit& visit) {
    const desk::ItemHistory history = visit.desk.item_history(visit.request.field("mark"));
    const record::Item& item = history.item;
    const Date today = visit.desk.today();
    json parts = json::array();
    for (const record::Item& part : history.parts)
        parts.push_back({{"mark", part.mark},
                         {"length", part.length ? record::length_words(*part.length) : ""},
                         {"href", item_path(part.mark)}});
    json data{{"title", item.mark},
              {"mark", item.mark},
              {"what", record::trimmed(item.maker + " " + item.model)},
              {"status", record::words_for(item.status)},
              {"limit", item.limit},
              {"facts", facts_of(item, today)},
              {"holds", earlier_lines(history.holds)},
              {"has_holds", !history.holds.empty()},
              {"checks", check_lines(history.checks)},
              {"has_checks", !history.checks.empty()},
              {"parts", parts},
              {"journal", journal_lines(history.journal)},
              {"may_hold", record::may_open_hold(item).has_value()},
              {"hold_href", "/hold/new?mark=" + percent_encoded(item.mark)},
              {"edit_href", "/item/edit?mark=" + percent_encoded(item.mark)},
              {"label_href", "/print/labels?marks=" + percent_encoded(item.mark)}};
    for (const record::EarlierHold& hold : history.holds)
        if (!hold.verdict)
            data["running"] = {{"number", hold.hold.number}, {"href", hold_path(hold.hold.number)}};
    if (history.check_due) {
        data["check_due"] =
            history.checks.empty() ? tr("at once: it was never checked here") : to_text(*history.check_due);
        data["check_late"] = history.checks.empty() || *history.check_due <= today;
    }
    data["life_over"] = history.life.counts_as_over();
    data["life"] = history.life.words;
    data["years"] = years_of(history, today);
    return visit.page("item", std::move(data));
}

Answer item_form(const Visit& visit) {
    const Request& request = visit.request;
    const bool known = request.words().back() == "edit";
    std::optional<record::Item> item;
    if (known) item = visit.desk.item(request.field("mark"));
    if (!visit.is_post()) return visit.page("item_form", form_data(visit, item));
    try {
        const record::Item typed = typed_item(request);
        const record::Item kept =
            known ? visit.desk.edit_item(item->mark, [&](record::Item& changed) { changed = typed; })
                  : visit.desk.add_item(typed);
        return Answer::go_to(item_path(kept.mark));
    } catch (const Failure& failure) {
        return visit.page_again("item_form", form_data(visit, item), failure.error());
    }
}

Answer lives_page(const Visit& visit) {
    const Paging paging(visit.request);
    desk::LifeFilter filter;
    filter.limit = paging.limit();
    filter.offset = paging.offset();
    json lines = json::array();
    for (const desk::LifeLine& line : visit.desk.ending_lives(filter))
        lines.push_back({{"mark", line.item.mark},
                         {"href", item_path(line.item.mark)},
                         {"what", record::trimmed(line.item.maker + " " + line.item.model)},
                         {"status", record::words_for(line.item.status)},
                         {"out", line.life.counts_as_over()},
                         {"words", line.life.words}});
    json data{{"title", tr("Lives that end")}, {"lives", true}};
    paging.put_into(data, lines, "/items/lives", {});
    return visit.page("item_list", std::move(data));
}

Answer destroyed_page(const Visit& visit) {
    const Paging paging(visit.request);
    json lines = json::array();
    for (const desk::DestroyedItem& line : visit.desk.destroyed_items(paging.limit(), paging.offset()))
        lines.push_back({{"mark", line.item.mark},
                         {"href", item_path(line.item.mark)},
                         {"what", line.scrapped ? trf("{} cut out", record::length_words(*line.scrapped))
                                                : tr("the whole item")},
                         {"status", day_words(line.given)},
                         {"words", destroyed_words(line)}});
    json data{{"title", tr("Destroyed")}, {"destroyed", true}};
    paging.put_into(data, lines, "/items/destroyed", {});
    return visit.page("item_list", std::move(data));
}

Answer import_page(const Visit& visit) {
    const Request& request = visit.request;
    json data{{"title", tr("Items from a file")}};
    if (!visit.is_post()) return visit.page("import", std::move(data));
    std::string key, csv;
    const desk::ColumnMap map = chosen_columns(request);
    try {
        csv = import_text(visit, key);
        const std::string what = request.field("do");
        const desk::ImportPlan plan =
            what == "act" ? visit.desk.import_items(csv, map) : visit.desk.preview_import(csv, map);
        if (what == "refused")
            return Answer::download("refused-rows.csv", std::as_bytes(std::span(plan.refused_csv)));
        if (plan.done) return Answer::go_to("/items");
        data.update(plan_data(plan));
        data["key"] = key;
        return visit.page("import", std::move(data));
    } catch (const Failure& failure) {
        // Which column is which can still be said.
        data["columns"] = column_lines(guessed_columns(csv, map));
        data["has_plan"] = !data["columns"].empty();
        data["key"] = key;
        return visit.page_again("import", std::move(data), failure.error());
    }
}

Answer export_items(const Visit& visit) {
    desk::ItemFilter filter;
    filter.text = visit.request.field("words");
    filter.kit = visit.request.field("kit");
    filter.place = visit.request.field("place");
    filter.limit = 0;
    const std::string csv = record::items_as_csv(visit.desk.find_items(filter));
    return Answer::download("items.csv", std::as_bytes(std::span(csv)));
}

}  // namespace frayhold::web
