// SPDX-License-Identifier: Apache-2.0
#include "pack/photo_report.h"

#include <nlohmann/json.hpp>

namespace frayhold::pack {
namespace {

using Json = nlohmann::json;

const Json& member(const Json& object, const char* name) {
    static const Json none;
    if (!object.is_object()) return none;
    const auto at = object.find(name);
    return at == object.end() ? none : *at;
}

std::string text(const Json& value) {
    return value.is_string() ? value.get<std::string>() : std::string();
}

std::optional<double> number(const Json& value) {
    return value.is_number() ? std::optional(value.get<double>()) : std::nullopt;
}

std::vector<double> numbers(const Json& value) {
    std::vector<double> out;
    if (!value.is_array()) return out;
    for (const Json& one : value) {
        if (!one.is_number()) return {};
        out.push_back(one.get<double>());
    }
    return out;
}

}  // namespace

PhotoReport read_photo_report(const std::string& json) {
    const Json report = Json::parse(json, nullptr, false);
    PhotoReport out;
    out.camera = text(member(member(report, "photo"), "camera"));
    const Json& quality = member(report, "quality");
    out.sharpness = number(member(quality, "sharpness"));
    out.clipped_fraction = number(member(quality, "clipped_fraction"));
    const Json& card = member(report, "card");
    out.card_kind = text(member(card, "kind"));
    out.tilt_deg = number(member(card, "tilt_deg"));
    out.distance_mm = number(member(card, "distance_mm"));
    out.card_note = text(member(card, "note"));
    const Json& remarks = member(report, "remarks");
    if (remarks.is_array())
        for (const Json& remark : remarks)
            if (remark.is_string()) out.remarks.push_back(remark.get<std::string>());
    const Json& profile = member(report, "profile");
    out.station_mm = numbers(member(profile, "station_mm"));
    out.width_mm = numbers(member(profile, "width_mm"));
    out.fray_mm = numbers(member(profile, "fray_mm"));
    out.baseline_mm = number(member(profile, "baseline_mm")).value_or(0.0);
    if (out.fray_mm.size() != out.width_mm.size()) out.fray_mm = out.width_mm;
    if (out.station_mm.size() != out.width_mm.size()) {
        out.station_mm.clear();
        out.width_mm.clear();
        out.fray_mm.clear();
    }
    return out;
}

}  // namespace frayhold::pack
