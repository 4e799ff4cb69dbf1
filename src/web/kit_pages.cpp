// SPDX-License-Identifier: Apache-2.0
#include "web/kit_pages.h"

#include <fmt/format.h>

#include "language/tr.h"
#include "record/text.h"
#include "web/item_pages.h"
#include "web/listing.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

std::string kit_path(const std::string& name) {
    return "/kit?name=" + percent_encoded(name);
}

// "2 of sewn sling, 1 of harness"; empty where nothing is missing.
std::string short_words(const desk::KitState& kit) {
    std::string words;
    for (const desk::KitState::Line& line : kit.lines) {
        if (line.missing() <= 0) continue;
        if (!words.empty()) words += ", ";
        // Translators: so many of a kind are missing, "2 of sewn sling".
        words += trf("{} of {}", line.missing(), record::words_for(line.kind));
    }
    return words;
}

json item_lines(const std::vector<record::Item>& items) {
    json lines = json::array();
    for (const record::Item& item : items)
        lines.push_back({{"mark", item.mark},
                         {"href", item_path(item.mark)},
                         {"status", record::words_for(item.status)},
                         {"limit", item.limit}});
    return lines;
}

json kit_data(const Visit& visit, const desk::KitState& kit) {
    const std::string name = kit.name;
    json lines = json::array();
    for (const desk::KitState::Line& line : kit.lines)
        lines.push_back({{"kind", record::words_for(line.kind)},
                         {"needed", line.needed > 0 ? std::to_string(line.needed) : ""},
                         {"in_service", line.in_service},
                         {"out_of_service", line.out_of_service},
                         {"missing", line.missing() > 0 ? std::to_string(line.missing()) : ""}});
    json data{{"title", trf("Kit {}", name)}, {"name", name}, {"short", short_words(kit)}};
    data["lines"] = lines;
    data["limited"] = item_lines(kit.limited);
    data["out"] = item_lines(kit.out_of_service);
    data["has_limited"] = !kit.limited.empty();
    data["has_out"] = !kit.out_of_service.empty();
    data["kinds"] = choices(record::all_kinds(), visit.request.field("kind"));
    data["count"] = visit.request.field("count");
    data["items_href"] = path_with("/items", {{"kit", name}});
    data["shelf_href"] = path_with("/print/shelf", {{"kit", name}});
    data["labels_href"] = path_with("/print/labels", {{"kit", name}});
    return data;
}

}  // namespace

Answer kits_page(const Visit& visit) {
    const Paging paging(visit.request);
    json lines = json::array();
    for (const desk::KitState& kit : visit.desk.kits(paging.limit(), paging.offset())) {
        int in_service = 0;
        for (const desk::KitState::Line& line : kit.lines) in_service += line.in_service;
        lines.push_back({{"name", kit.name},
                         {"href", kit_path(kit.name)},
                         {"in_service", in_service},
                         {"out_of_service", kit.out_of_service.size()},
                         {"limits", kit.limited.empty() ? "" : std::to_string(kit.limited.size())},
                         {"short", short_words(kit)}});
    }
    json data{{"title", tr("Kits")}};
    data["kinds"] = choices(record::all_kinds(), "");
    paging.put_into(data, lines, "/kits", {});
    return visit.page("kits", std::move(data));
}

Answer kit_page(const Visit& visit) {
    const Request& request = visit.request;
    const std::string name = record::trimmed(request.field("name"));
    if (!visit.is_post()) return visit.page("kit", kit_data(visit, visit.desk.kit(name)));
    try {
        const auto kind = record::kind_named(request.field("kind"));
        if (!kind) throw Failure(Fault::input, tr("kind"), "none is chosen", "choose what the kit needs");
        visit.desk.set_kit_need(name, *kind,
                                whole_number(record::trimmed(request.field("count")), tr("count")));
        return Answer::go_to(kit_path(name));
    } catch (const Failure& failure) {
        return visit.page_again("kit", kit_data(visit, {name, {}, {}, {}}), failure.error());
    }
}

}  // namespace frayhold::web
