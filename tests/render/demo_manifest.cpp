// SPDX-License-Identifier: Apache-2.0
#include "render/demo_manifest.h"

#include <optional>
#include <string>

namespace frayhold::render {

using nlohmann::ordered_json;

namespace {

void put(ordered_json& truth, const char* name, const std::optional<double>& value) {
    if (value) truth[name] = *value;
}

ordered_json told(const Truth& truth, const std::string& subject) {
    ordered_json out;
    if (truth.card_corners_px) {
        ordered_json corners = ordered_json::array();
        for (const cv::Point2d& p : *truth.card_corners_px) corners.push_back({p.x, p.y});
        out["card_corners_px"] = corners;
    }
    out["tilt_deg"] = truth.tilt_deg;
    out["distance_mm"] = truth.distance_mm;
    out["focal_px"] = truth.focal_px;
    out["k1"] = truth.k1;
    out["k2"] = truth.k2;
    put(out, "sound_width", truth.sound_width);
    put(out, "fray_width", truth.fray_width);
    put(out, "fray_dense_width", truth.fray_dense_width);
    put(out, "fray_length", truth.fray_length);
    put(out, "fray_area", truth.fray_area);
    put(out, "local_width", truth.local_width);
    put(out, "core_area", truth.core_area);
    put(out, "core_length", truth.core_length);
    put(out, "glaze_length", truth.glaze_length);
    put(out, "web_width", truth.web_width);
    put(out, "nick_depth", truth.nick_depth);
    put(out, "nick_length", truth.nick_length);
    if (truth.nick_depth) out["nick_share"] = *truth.nick_depth / *truth.web_width;
    put(out, "fluff_length", truth.fluff_length);
    if (subject == "webbing") {
        out["stitch_rows"] = truth.stitch_rows.value();
        out["stitch_gaps"] = truth.stitch_gaps.value();
    }
    return out;
}

}  // namespace

ordered_json manifest_entry(const DemoPhoto& photo, const Truth& truth) {
    ordered_json out;
    out["file"] = photo.file;
    out["item"] = photo.item;
    out["subject"] = photo.subject;
    out["view"] = photo.view;
    out["shows"] = photo.shows;
    out["expectation"] = photo.expectation;
    out["why"] = photo.why;
    out["nominal_mm"] = truth.nominal_mm;
    out["card"] = photo.scene.card ? "printed" : "none";
    out["width_px"] = photo.scene.view.width_px;
    out["height_px"] = photo.scene.view.height_px;
    out["orientation"] = photo.exif.orientation;
    out["taken"] = photo.exif.taken;
    out["truth"] = told(truth, photo.subject);
    return out;
}

ordered_json manifest_head() {
    ordered_json out;
    out["about"] =
        "Every picture here is rendered by Frayhold's own renderer in tests/render; none is a photo of a "
        "real thing. "
        "The Korrel Tree Crew, its people, its gear and its makers are invented.";
    out["made_by"] = "render_demo demo-photos";
    out["camera"] = "Ashmeer Optics Field 3 (invented): 26 mm equivalent, 12 megapixels";
    out["frames"] =
        "Pixels of the upright picture, origin at the centre of the top left pixel. Lengths in mm, areas in "
        "mm2, as "
        "seen from straight above the bench; widths of fray are the largest over 1 mm stations along the "
        "rope.";
    out["expectations"] = {{"measured", "the gauge measures it"},
                           {"refused", "the gauge must refuse it, for the reason in why"},
                           {"record_only", "kept as evidence; nothing in it is measured"}};
    out["photos"] = ordered_json::array();
    return out;
}

}  // namespace frayhold::render
