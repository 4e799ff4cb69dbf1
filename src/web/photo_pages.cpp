// SPDX-License-Identifier: Apache-2.0
#include "web/photo_pages.h"

#include <fmt/format.h>

#include <cmath>

#include "desk/annotations.h"
#include "gauge/flatten.h"
#include "gauge/nearest_edge.h"
#include "gauge/reading_words.h"
#include "language/error_words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "photo/decode_apart.h"
#include "photo/encode.h"
#include "record/evidence.h"
#include "record/rules.h"
#include "record/text.h"
#include "web/bench_report.h"
#include "web/case_page.h"
#include "web/listing.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

const record::PhotoEntry& entry_of(const record::CaseFile& file, int number) {
    for (const record::PhotoEntry& photo : file.photos)
        if (photo.number == number) return photo;
    throw Failure(Fault::input, trf("hold {}", file.hold.number), trf("there is no photo {}", number),
                  "look at the hold again");
}

std::shared_ptr<const OpenPhoto> opened(const Visit& visit, const record::CaseFile& file,
                                        const record::PhotoEntry& entry) {
    return visit.house.photos.open(entry.sha256 + " " + file.item.mark, [&] {
        return desk::PhotoBench(
            value_or_throw(photo::decode_apart(visit.desk.kept_bytes(entry.sha256), entry.file_name)),
            file.item, visit.house.criteria);
    });
}

std::string kept_annotations(const record::CaseFile& file, int number) {
    for (const record::PhotoMarks& marks : file.marks)
        if (marks.photo == number) return marks.annotations;
    return "";
}

desk::Drawn kept_drawing(const record::CaseFile& file, int number) {
    const std::string text = kept_annotations(file, number);
    return text.empty() ? desk::Drawn{} : value_or_throw(desk::drawn_from_annotations(text));
}

Answer bench_page(const Visit& visit, const record::CaseFile& file, const record::PhotoEntry& entry) {
    json data = case_head(file);
    const std::string path = fmt::format("{}/photo/{}", hold_path(file.hold.number), entry.number);
    data["title"] = trf("{}, photo {}", file.hold.number, entry.number);
    data["photo_path"] = path;
    data["number"] = entry.number;
    data["role"] = record::words_for(entry.role);
    data["file_name"] = entry.file_name;
    data["taken"] = entry.taken;
    data["added"] = day_words(entry.added);
    data["added_by"] = entry.added_by;
    data["usable"] = entry.usable;
    data["reasons"] = recorded_lines(entry.reasons);
    data["advice"] = advice_lines(entry.advice);
    data["has_advice"] = !entry.advice.empty();
    data["stage"] = true;
    data["may_mark"] = record::may_add_evidence(file).has_value();
    json others = json::array();
    for (const record::PhotoEntry& other : file.photos)
        others.push_back({{"number", other.number},
                          {"name", record::words_for(other.role)},
                          {"href", fmt::format("{}/photo/{}", hold_path(file.hold.number), other.number)},
                          {"here", other.number == entry.number}});
    data["others"] = others;
    json findings = json::array();
    for (const record::Finding& finding : file.findings)
        findings.push_back({{"what", tr_recorded(finding.kind_words)},
                            {"where", record::place_words(finding)},
                            {"words", finding.words}});
    data["findings"] = findings;
    data["has_findings"] = !file.findings.empty();
    return visit.page("photo", std::move(data));
}

Answer kept_picture(Answer picture) {
    picture.never_changes = true;
    return picture;
}

Answer tile(const OpenPhoto& photo, const std::vector<std::string>& rest) {
    const std::vector<std::byte> bytes =
        photo.levels.tile(whole_number(rest[1], tr("level")), whole_number(rest[2], tr("column")),
                          whole_number(rest[3], tr("row")));
    if (bytes.empty()) return Answer::plain(404, tr("The picture has no such piece."));
    return kept_picture(Answer::bytes("image/jpeg", bytes));
}

Answer small_picture(const OpenPhoto& photo) {
    const photo::Levels& levels = photo.levels;
    // The last level fits into one tile.
    return kept_picture(Answer::bytes("image/jpeg", levels.tile(levels.count() - 1, 0, 0)));
}

std::array<cv::Point2d, 4> corners_of(const json& list) {
    const std::vector<cv::Point2d> points = points_of(list);
    if (points.size() != 4)
        throw Failure(Fault::input, tr("the card's corners"), "four are needed", "draw all four");
    return {points[0], points[1], points[2], points[3]};
}

Answer flat_picture(const OpenPhoto& photo, const std::string& corners) {
    json list = json::parse("[" + corners + "]", nullptr, false);
    if (list.is_discarded() || list.size() != 8)
        throw Failure(Fault::input, tr("the card's corners"), "four are needed", "draw all four");
    json pairs = json::array();
    for (std::size_t i = 0; i < 8; i += 2) pairs.push_back({list[i], list[i + 1]});
    constexpr int side_px = 2000, quality = 88;
    const gauge::FlatPicture flat =
        value_or_throw(gauge::flattened(photo.bench.photo().bgr, corners_of(pairs), side_px));
    Answer answer = Answer::bytes("image/jpeg", photo::encode_jpeg(flat.bgr, quality));
    json map = json::array();
    for (int i = 0; i < 9; ++i) map.push_back(flat.picture_from_flat.val[i]);
    answer.headers.emplace("X-Frayhold-Picture-From-Flat", map.dump());
    answer.headers.emplace("X-Frayhold-Mm-Per-Px", fmt::format("{}", flat.mm_per_px));
    return answer;
}

double real_number(const std::string& text, const std::string& name) {
    const json number = json::parse(text, nullptr, false);
    if (!number.is_number() || !std::isfinite(number.get<double>()))
        throw Failure(Fault::input, name, "it is no number", "reload the page");
    return number.get<double>();
}

// The nearest edge to a picked point; null where there is none.
Answer edge_near(const OpenPhoto& photo, const Request& request) {
    const json place = {real_number(request.field("x"), "x"), real_number(request.field("y"), "y")};
    const cv::Point2d picked = points_of(json::array({place})).front();
    const auto edge =
        gauge::nearest_edge(photo.bench.photo().bgr, picked, real_number(request.field("within"), "within"));
    json out{{"at", nullptr}};
    if (edge) out["at"] = {edge->x, edge->y};
    return Answer::json(out.dump());
}

json levels_json(const photo::Levels& levels) {
    json list = json::array();
    for (int level = 0; level < levels.count(); ++level)
        list.push_back({levels.size(level).width, levels.size(level).height});
    return list;
}

Answer first_report(const OpenPhoto& photo, const record::CaseFile& file, const record::PhotoEntry& entry) {
    const desk::Drawn drawn = kept_drawing(file, entry.number);
    json out = drawn.empty() ? kept_report_json(entry) : report_for_bench(photo.bench.measured(drawn), drawn);
    out["levels"] = levels_json(photo.levels);
    out["tile_px"] = photo::Levels::tile_px;
    out["drawn"] = drawn_json(drawn);
    return Answer::json(out.dump());
}

// A fault is told as JSON: the page shows its sentence beside the numbers.
Answer measure_or_keep(const Visit& visit, const record::CaseFile& file, const record::PhotoEntry& entry,
                       bool keep) {
    try {
        const desk::Drawn drawn = drawn_from_json(visit.request.body);
        const auto photo = opened(visit, file, entry);
        const desk::MeasuredPhoto measured = photo->bench.measured(drawn);
        json out = report_for_bench(measured, drawn);
        if (keep) {
            const record::PhotoMarks kept = visit.desk.save_marks(file.hold.number, entry.number, drawn,
                                                                  desk::readings_of(drawn, measured.report));
            out["kept"] = kept.turn;
        }
        return Answer::json(out.dump(-1, ' ', false, json::error_handler_t::replace));
    } catch (const Failure& failure) {
        return Answer::json(json{{"error", error_words(failure.error())}}.dump(),
                            status_of(failure.error().fault));
    }
}

// While a corner moves. Nothing to follow yet is no fault: the page then waits for the measuring.
Answer follow(const Visit& visit, const record::CaseFile& file, const record::PhotoEntry& entry) {
    const desk::Drawn drawn = drawn_from_json(visit.request.body);
    const auto readings = opened(visit, file, entry)->bench.followed(drawn);
    return Answer::json(readings ? followed_json(*readings).dump() : json{{"readings", nullptr}}.dump());
}

json add_photo_data(const record::CaseFile& file, const std::string& chosen) {
    json data = case_head(file);
    data["title"] = trf("Add a photo, {}", file.hold.number);
    std::string first_wanted = chosen;
    for (const record::RequiredView& view : record::evidence_list(file))
        if (first_wanted.empty() &&
            (view.state == record::ViewState::missing || view.state == record::ViewState::unusable))
            first_wanted = record::name_of(view.role);
    if (first_wanted.empty()) first_wanted = record::name_of(record::PhotoRole::close_up);
    data["roles"] = choices(record::all_photo_roles(), first_wanted);
    return data;
}

// What to say of a photo that has just come in.
json told(const record::CaseFile& file, const record::PhotoEntry& entry) {
    json data = add_photo_data(file, entry.usable ? "" : std::string(record::name_of(entry.role)));
    data["told"] = true;
    data["usable"] = entry.usable;
    data["reasons"] = recorded_lines(entry.reasons);
    data["role"] = record::words_for(entry.role);
    data["card_missing"] = record::needs_card(entry.role) && !entry.card_found;
    data["photo_href"] = fmt::format("{}/photo/{}", hold_path(file.hold.number), entry.number);
    json readings = json::array();
    for (const gauge::Reading& reading : entry.readings)
        readings.push_back(
            {{"name", tr_word(gauge::words_for(reading.measurand))}, {"value", gauge::value_words(reading)}});
    data["readings"] = readings;
    data["missing"] = record::missing_evidence(file);
    data["complete"] = record::missing_evidence(file).empty();
    return data;
}

}  // namespace

Answer add_photo_page(const Visit& visit, const std::string& hold) {
    const Request& request = visit.request;
    const record::CaseFile file = visit.desk.case_file(hold);
    if (!visit.is_post()) {
        const std::string number = request.field("told");
        return visit.page("photo_add", number.empty()
                                           ? add_photo_data(file, request.field("role"))
                                           : told(file, entry_of(file, whole_number(number, tr("photo")))));
    }
    try {
        const auto role = record::photo_role_named(request.field("role"));
        if (!role)
            throw Failure(Fault::input, tr("view"), "it is not said what the photo shows", "choose a view");
        const auto upload = request.files.find("photo");
        if (upload == request.files.end() || upload->second.content.empty())
            throw Failure(Fault::input, tr("photo"), "no photo came", "take or choose one");
        desk::PhotoOrder order;
        order.role = *role;
        order.file_name = upload->second.file_name;
        order.bytes.assign(upload->second.bytes().begin(), upload->second.bytes().end());
        const record::PhotoEntry entry = visit.desk.add_photo(hold, order);
        return Answer::go_to(fmt::format("{}/photo?told={}", hold_path(hold), entry.number));
    } catch (const Failure& failure) {
        return visit.page_again("photo_add", add_photo_data(file, request.field("role")), failure.error());
    }
}

Answer photo_page(const Visit& visit, const std::string& hold, int number,
                  const std::vector<std::string>& rest) {
    const record::CaseFile file = visit.desk.case_file(hold);
    const record::PhotoEntry& entry = entry_of(file, number);
    const std::string what = rest.empty() ? "" : rest[0];
    if (what.empty()) return bench_page(visit, file, entry);
    if (what == "original") return Answer::download(entry.file_name, visit.desk.kept_bytes(entry.sha256));
    if (what == "annotations") {
        const std::string text = kept_annotations(file, number);
        if (text.empty()) return Answer::plain(404, tr("Nothing is drawn on this photo yet."));
        Answer answer = Answer::json(text);
        answer.type = "application/ld+json; profile=\"http://www.w3.org/ns/anno.jsonld\"";
        return answer;
    }
    const auto photo = opened(visit, file, entry);
    if (what == "small") return small_picture(*photo);
    if (what == "tile" && rest.size() == 4) return tile(*photo, rest);
    if (what == "flat") return flat_picture(*photo, visit.request.field("corners"));
    if (what == "edge") return edge_near(*photo, visit.request);
    if (what == "report") return first_report(*photo, file, entry);
    return Answer::plain(404, tr("There is no such page."));
}

Answer photo_action(const Visit& visit, const std::string& hold, int number, const std::string& action) {
    const record::CaseFile file = visit.desk.case_file(hold);
    const record::PhotoEntry& entry = entry_of(file, number);
    if (action == "follow") return follow(visit, file, entry);
    if (action == "measure" || action == "marks")
        return measure_or_keep(visit, file, entry, action == "marks");
    return Answer::plain(404, tr("There is no such page."));
}

}  // namespace frayhold::web
