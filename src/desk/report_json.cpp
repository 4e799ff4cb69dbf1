// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <nlohmann/json.hpp>
#include <string_view>

#include "desk/photo_measuring.h"
#include "gauge/measurand.h"

namespace frayhold::desk {
namespace {

using Json = nlohmann::ordered_json;

Json text_or_null(std::string text) {
    return text.empty() ? Json(nullptr) : Json(std::move(text));
}

Json number_or_null(double number) {
    return std::isfinite(number) ? Json(number) : Json(nullptr);
}

template <class Points>
Json points_json(const Points& points) {
    Json list = Json::array();
    for (const cv::Point2d& point : points) list.push_back({point.x, point.y});
    return list;
}

std::string camera_name(const photo::ExifFacts& exif) {
    if (exif.make.empty() || exif.model.starts_with(exif.make)) return exif.model;
    return exif.model.empty() ? exif.make : exif.make + " " + exif.model;
}

std::string_view name_of(gauge::CardKind kind) {
    switch (kind) {
        case gauge::CardKind::printed:
            return "printed";
        case gauge::CardKind::id1:
            return "id1";
        case gauge::CardKind::rule_by_hand:
            return "rule";
        case gauge::CardKind::corners_by_hand:
            break;
    }
    return "corners";
}

std::string_view value_field(gauge::UnitOf unit) {
    switch (unit) {
        case gauge::UnitOf::millimetre:
            return "value_mm";
        case gauge::UnitOf::square_millimetre:
            return "value_mm2";
        case gauge::UnitOf::one:
            break;
    }
    return "value";
}

Json card_json(const gauge::CardFit& card) {
    Json json;
    json["kind"] = name_of(card.kind);
    json["corners_px"] = points_json(card.corners_px);
    json["tilt_deg"] = card.tilt ? Json(card.tilt->value()) : Json(nullptr);
    json["distance_mm"] = card.distance ? Json(card.distance->value()) : Json(nullptr);
    json["mm_per_px"] = card.mm_per_px;
    json["rms_px"] = card.rms_px;
    json["note"] = text_or_null(card.note);
    return json;
}

Json reading_json(const gauge::Reading& reading) {
    Json json;
    json["quantity"] = gauge::name_of(reading.measurand);
    json[std::string(value_field(gauge::unit_of(reading.measurand)))] = reading.value;
    json["u"] = reading.u;
    json["U"] = reading.U;
    json["k"] = reading.k;
    json["dof"] = number_or_null(reading.dof);
    json["outline_px"] = points_json(reading.outline_px);
    Json budget = Json::array();
    for (const gauge::BudgetLine& line : reading.budget)
        budget.push_back({{"source", line.source}, {"u", line.u}});
    json["budget"] = std::move(budget);
    if (const auto& spread = reading.monte_carlo)
        json["monte_carlo"] = {{"draws", spread->draws},
                               {"mean", spread->mean},
                               {"u", spread->u},
                               {"interval", {spread->symmetric.low, spread->symmetric.high}}};
    return json;
}

Json advice_json(const record::AdviceEntry& advice) {
    Json json;
    json["criterion"] = text_or_null(advice.criterion);
    json["outcome"] = criteria::name_of(advice.outcome);
    json["probability"] = advice.probability ? Json(*advice.probability) : Json(nullptr);
    json["source"] = advice.source;
    json["words"] = advice.words;
    json["because"] = advice.because;
    json["borderline"] = advice.borderline;
    return json;
}

Json comparison_json(const gauge::Comparison& comparison) {
    Json json;
    json["alignment"] = nullptr;
    if (const auto& alignment = comparison.alignment)
        json["alignment"] = {{"turned", alignment->turned},
                             {"shift_mm", alignment->shift_mm},
                             {"likeness", alignment->likeness},
                             {"overlap_mm", alignment->overlap_mm}};
    json["changes"] = Json::array();
    const auto side = [](const std::optional<gauge::Reading>& reading) {
        if (!reading) return Json(nullptr);
        return Json{{std::string(value_field(gauge::unit_of(reading->measurand))), reading->value},
                    {"U", reading->U},
                    {"k", reading->k}};
    };
    for (const gauge::Change& change : comparison.changes)
        json["changes"].push_back({{"quantity", gauge::name_of(change.measurand)},
                                   {"before", side(change.before)},
                                   {"after", side(change.after)},
                                   {"change", side(change.change)},
                                   {"plain", change.is_plain()}});
    json["remark"] = comparison.remark;
    return json;
}

}  // namespace

std::string report_json(const photo::Photo& photo, const gauge::Report& report,
                        std::span<const record::AdviceEntry> advice, const gauge::Comparison* against) {
    Json json;
    json["photo"]["sha256"] = photo.sha256;
    json["photo"]["width_px"] = photo.bgr.cols;
    json["photo"]["height_px"] = photo.bgr.rows;
    json["photo"]["taken"] = text_or_null(photo.exif.taken);
    json["photo"]["camera"] = text_or_null(camera_name(photo.exif));

    json["quality"]["usable"] = report.quality.usable;
    json["quality"]["reasons"] = report.quality.reasons;
    json["quality"]["sharpness"] = number_or_null(report.quality.sharpness);
    json["quality"]["clipped_fraction"] = number_or_null(report.quality.clipped_fraction);

    json["card"] = report.card ? card_json(*report.card) : Json(nullptr);
    json["readings"] = Json::array();
    for (const gauge::Reading& reading : report.readings) json["readings"].push_back(reading_json(reading));
    json["profile"] = nullptr;
    if (report.profile) {
        json["profile"] = {{"station_mm", report.profile->station_mm},
                           {"width_mm", report.profile->width_mm},
                           {"fray_mm", report.profile->fray_mm},
                           {"baseline_mm", report.profile->baseline_mm},
                           {"centre_px", points_json(report.profile->centre_px)}};
    }
    json["advice"] = Json::array();
    for (const record::AdviceEntry& entry : advice) json["advice"].push_back(advice_json(entry));
    json["remarks"] = report.remarks;
    if (against != nullptr) json["against"] = comparison_json(*against);
    json["caution"] = criteria::caution;
    constexpr int indent = 1;
    return json.dump(indent) + "\n";
}

}  // namespace frayhold::desk
