// SPDX-License-Identifier: Apache-2.0
#include "desk/photo_measuring.h"

#include "gauge/markup.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "photo/encode.h"
#include "photo/exif.h"

namespace frayhold::desk {

gauge::Camera camera_from_exif(const photo::Photo& photo) {
    gauge::Camera camera;
    camera.focal_px = photo::focal_px_from_exif(photo.exif, photo.bgr.size());
    if (camera.focal_px) {
        camera.focal_u_rel = photo::exif_focal_u_rel;
        camera.source = tr_later("EXIF 35 mm equivalent");
    }
    return camera;
}

MeasuredPhoto measure_photo(const photo::Photo& photo, const gauge::Request& request,
                            const criteria::Table& table, const criteria::About& about, bool draw_marks) {
    MeasuredPhoto measured;
    measured.report = value_or_throw(gauge::measure(photo.bgr, request));
    if (measured.report.quality.usable)
        for (const criteria::Advice& advice : criteria::advise(measured.report.readings, {}, table, about))
            measured.advice.push_back(record::entry_of(advice));
    measured.report_json = report_json(photo, measured.report, measured.advice);
    if (draw_marks && measured.report.quality.usable) {
        constexpr int quality = 88;
        measured.markup = photo::encode_jpeg(gauge::draw_markup(photo.bgr, measured.report), quality);
    }
    return measured;
}

gauge::Comparison compare_photos(const photo::Photo& earlier, const std::string& earlier_name,
                                 const gauge::Request& request, const gauge::Report& later) {
    gauge::Request before = request;
    before.corners_px.reset();
    before.rule.reset();
    before.marks.clear();
    before.camera = camera_from_exif(earlier);
    if (before.card == gauge::CardChoice::none) before.card = gauge::CardChoice::automatic;
    const gauge::Report report = value_or_throw(gauge::measure(earlier.bgr, before));
    if (!report.quality.usable)
        throw Failure(
            Fault::input, earlier_name,
            trf("the earlier photo cannot be measured: {}", tr_recorded(report.quality.reasons.front())),
            "leave out --against or name another photo");
    return gauge::compare(report, later);
}

}  // namespace frayhold::desk
