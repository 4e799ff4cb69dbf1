// SPDX-License-Identifier: Apache-2.0
#include "gauge/gauge.h"

#include <cmath>
#include <numbers>
#include <utility>

#include "gauge/card_design.h"
#include "gauge/card_fit.h"
#include "gauge/card_search.h"
#include "gauge/hand_marks.h"
#include "gauge/id1_search.h"
#include "gauge/item_search.h"
#include "gauge/propagation.h"
#include "gauge/quality.h"
#include "gauge/rope.h"
#include "gauge/rule_fit.h"
#include "gauge/side_by_side.h"
#include "gauge/webbing.h"
#include "language/later.h"

namespace frayhold::gauge {
namespace {

// A printed card checked with a steel rule to 0.1 mm in 40 mm: a rectangle of that half-width (JCGM
// 100, 4.3.7).
constexpr double printed_size_u_rel = 0.1 / 40 / std::numbers::sqrt3;

struct FoundCard {
    ViewFit fit;
    CardKind kind;
    std::size_t markers = 0;
    Propagation::Scale scale;
    std::string note;  // what is assumed of it
};

CardFit describe_rule(const FoundCard& found, const RuleMark& rule) {
    CardFit card;
    card.kind = found.kind;
    card.corners_px = {rule.points_px[0], rule.points_px[1], rule.points_px[1], rule.points_px[0]};
    card.mm_per_px = rule.apart.value() / cv::norm(rule.points_px[1] - rule.points_px[0]);
    card.note = found.note;
    return card;
}

CardFit describe(const FoundCard& found) {
    const View& view = found.fit.view;
    CardFit card;
    card.kind = found.kind;
    for (std::size_t i = 0; i < id1_corners_mm.size(); ++i)
        card.corners_px[i] = view.picture_from_bench(id1_corners_mm[i]);
    // A tilt and a distance are only as good as the focal length they were told with.
    constexpr double well_known = 0.1;
    if (std::sqrt(found.fit.covariance(View::log_focal, View::log_focal)) < well_known) {
        card.tilt = Degrees(view.tilt() * 180 / std::numbers::pi);
        card.distance = Millimetres(view.distance_mm(id1_middle_mm));
    }
    card.mm_per_px = view.mm_per_px(id1_middle_mm);
    card.rms_px = found.fit.rms_px;
    card.markers_found = static_cast<int>(found.markers);
    card.note = found.note;
    return card;
}

Result<FoundCard> find_card(const cv::Mat& bgr, const ReducedPicture& reduced, const Request& request) {
    const CameraPrior prior = camera_prior(request.camera, bgr.size());
    if (request.corners_px) {
        auto fit = fit_corners(*request.corners_px, prior, corner_pick_u_px);
        if (!fit) return tl::make_unexpected(std::move(fit.error()));
        return FoundCard{std::move(*fit),
                         CardKind::corners_by_hand,
                         0,
                         {id1_size_u_rel},
                         tr_later("corners given by hand; taken for an ID-1 card of 85.60 x 53.98 mm")};
    }
    if (request.rule) {
        auto fit = fit_rule(*request.rule, prior, corner_pick_u_px);
        if (!fit) return tl::make_unexpected(std::move(fit.error()));
        return FoundCard{
            std::move(*fit),
            CardKind::rule_by_hand,
            0,
            {rule_scale_u_rel, tr_later("rule in a view not corrected for tilt")},
            tr_later("scale from a rule: the view is taken for square on and was not corrected")};
    }
    if (request.card == CardChoice::none)
        return failed(Fault::input, tr_later("card"), "no card was to be looked for",
                      "give the card's four corners");
    if (request.card != CardChoice::id1) {
        const auto markers = find_markers(bgr, reduced);
        auto fit = fit_card(bgr, markers, prior);
        if (fit)
            return FoundCard{std::move(*fit), CardKind::printed, markers.size(), {printed_size_u_rel}, {}};
        if (request.card == CardChoice::printed) return tl::make_unexpected(std::move(fit.error()));
    }
    auto plain = find_id1(bgr, reduced, prior);
    if (!plain) return tl::make_unexpected(std::move(plain.error()));
    return FoundCard{std::move(plain->fit), CardKind::id1, 0, {plain->size_u_rel}, std::move(plain->note)};
}

// How thick the item is, for marks drawn on it. A rope is as thick as it is wide; webbing, however wide, is
// 1.5 to 3 mm thick (see webbing.cpp).
Millimetres thickness_of(const Request& request, const Report& report) {
    constexpr Millimetres usual_rope(10.0), usual_webbing(2.25);
    if (request.subject == Subject::webbing) return usual_webbing;
    if (report.profile) return Millimetres(report.profile->baseline_mm);
    return request.nominal.value_or(usual_rope);
}

}  // namespace

Result<Report> measure(const cv::Mat& bgr, const Request& request) {
    CV_Assert(bgr.type() == CV_8UC3);
    const bool by_hand = request.corners_px || request.rule;
    if (request.corners_px && request.rule)
        return failed(Fault::usage, tr_later("rule"), "both a card's corners and a rule are given",
                      "give the one that is clearer");
    if (request.card == CardChoice::none && !by_hand && !request.marks.empty())
        return failed(Fault::usage, tr_later("card"), "without a card there is no scale for what was drawn",
                      "give the card's four corners");

    Report report;
    const ReducedPicture reduced = reduced_picture(bgr);
    std::optional<Result<FoundCard>> card_or_not;
    double width_px = 0.0;
    side_by_side([&] { card_or_not = find_card(bgr, reduced, request); },
                 [&] { width_px = edge_width_px(bgr, reduced); });
    Result<FoundCard>& card = *card_or_not;
    if (!card && by_hand) return tl::make_unexpected(card.error());
    report.quality = judge(bgr, width_px, card ? &card->fit : nullptr, request.rule.has_value());
    if (!card) return report;
    report.card = request.rule ? describe_rule(*card, *request.rule) : describe(*card);
    if (by_hand && report.quality.sharpness > 0) card->fit.edge_width_px = 1 / report.quality.sharpness;
    report.view = card->fit.view;
    if (!report.quality.usable) return report;

    const std::optional<Track> track = find_item(reduced, card->fit.view, {request.subject, request.nominal});
    if (track && track->runs_over_card) {
        report.quality.usable = false;
        report.quality.reasons.emplace_back(tr_later("the item lies over the card: lay the card beside it"));
        return report;
    }
    const Propagation propagation(card->fit, card->scale, request.camera.source, request.monte_carlo_draws);
    if (!track) {
        report.remarks.emplace_back(
            request.subject == Subject::rope
                ? tr_later("no rope found: lay it across the picture on a bench of another colour")
                : tr_later("no webbing found: lay it across the picture on a bench of another colour"));
    } else if (request.subject == Subject::rope) {
        RopeFindings rope = measure_rope(bgr, reduced, card->fit, propagation, *track, request.level);
        report.readings = std::move(rope.readings);
        report.profile = std::move(rope.profile);
        report.remarks = std::move(rope.remarks);
    } else {
        WebbingFindings webbing =
            measure_webbing(bgr, reduced, card->fit, propagation, *track, request.level);
        report.readings = std::move(webbing.readings);
        report.profile = std::move(webbing.profile);
        report.remarks = std::move(webbing.remarks);
    }

    const Millimetres thickness = thickness_of(request, report);
    for (const HandMark& mark : request.marks) {
        auto reading = measure_mark(mark, card->fit, propagation, request.level, thickness);
        if (!reading) return tl::make_unexpected(std::move(reading.error()));
        report.readings.push_back(std::move(*reading));
    }
    return report;
}

}  // namespace frayhold::gauge
