// SPDX-License-Identifier: Apache-2.0
#include "bench/scene_trials.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <optional>
#include <thread>

#include "photo/photo.h"
#include "render/jpeg_writer.h"
#include "render/random.h"
#include "render/render.h"

namespace frayhold::bench {
namespace {

using gauge::Measurand;

std::map<Measurand, double> truths_of(const render::Truth& t) {
    std::map<Measurand, double> out;
    const auto add = [&](Measurand measurand, auto value) {
        if (value) out[measurand] = static_cast<double>(*value);
    };
    add(Measurand::sound_width, t.sound_width);
    add(Measurand::fray_width, t.fray_width);
    add(Measurand::fray_dense_width, t.fray_dense_width);
    add(Measurand::fray_length, t.fray_length);
    add(Measurand::fray_area, t.fray_area);
    add(Measurand::local_width, t.local_width);
    add(Measurand::core_area, t.core_area);
    add(Measurand::core_length, t.core_length);
    add(Measurand::web_width, t.web_width);
    add(Measurand::nick_depth, t.nick_depth);
    add(Measurand::nick_length, t.nick_length);
    add(Measurand::fluff_length, t.fluff_length);
    add(Measurand::stitch_rows, t.stitch_rows);
    add(Measurand::stitch_gaps, t.stitch_gaps);
    if (t.nick_depth && t.web_width) out[Measurand::nick_share] = *t.nick_depth / *t.web_width;
    // None there is a truth too, but nothing to be read.
    std::erase_if(out, [](const auto& entry) { return entry.second == 0.0; });
    return out;
}

double median(std::vector<double> values) {
    if (values.empty()) return 0.0;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

// Does each of `count` things once, on so many threads.
template <class Work>
void in_parallel(int count, int threads, const Work& work) {
    std::atomic<int> next{0};
    std::vector<std::jthread> workers;
    for (int t = 0; t < threads; ++t)
        workers.emplace_back([&] {
            for (int i = next++; i < count; i = next++) work(i);
        });
}

}  // namespace

Trial run_trial(std::uint64_t seed, render::SceneKind kind, render::Framing framing) {
    render::SceneChoice choice;
    choice.framing = framing;
    const render::Scene scene = render::random_scene(seed, kind, choice);
    const render::Rendered rendered = render::render(scene);
    constexpr int usual_quality = 92;
    const auto jpeg = render::encode_jpeg(rendered.bgr, usual_quality);
    const photo::Photo photo = value_or_throw(photo::decode(jpeg, "scene"));

    // What is believed differs from what is so by draws from the budget's own distributions.
    render::Random random(seed ^ 0x9e3779b97f4a7c15ULL);
    constexpr double focal_u_rel = 0.03;
    const double focal_factor = 1 + focal_u_rel * std::clamp(random.normal(), -2.0, 2.0);
    const double print_factor = 1 + (2 * random.uniform() - 1) * 0.1 / 40;

    gauge::Request request;
    request.subject = kind == render::SceneKind::webbing ? gauge::Subject::webbing : gauge::Subject::rope;
    request.camera.focal_px = rendered.truth.focal_px * focal_factor;
    request.camera.focal_u_rel = focal_u_rel;
    request.camera.source = "EXIF 35 mm equivalent";
    const gauge::Report report = value_or_throw(gauge::measure(photo.bgr, request));

    Trial trial;
    trial.seed = seed;
    trial.kind = kind;
    trial.card_found = report.card.has_value();
    trial.usable = report.quality.usable;
    trial.remarks = report.remarks;
    trial.tilt_deg = rendered.truth.tilt_deg;
    trial.distance_mm = rendered.truth.distance_mm;
    trial.blur_px = scene.sensor.blur_px;
    if (report.card && rendered.truth.card_corners_px)
        for (std::size_t i = 0; i < 4; ++i)
            trial.corner_error_px =
                std::max(trial.corner_error_px,
                         cv::norm(report.card->corners_px[i] - (*rendered.truth.card_corners_px)[i]));
    const auto truths = truths_of(rendered.truth);
    for (const gauge::Reading& reading : report.readings) {
        const auto truth = truths.find(reading.measurand);
        if (truth == truths.end()) {
            trial.spurious.push_back(reading.measurand);
            continue;
        }
        // A card printed too large makes everything read too small.
        const gauge::UnitOf unit = gauge::unit_of(reading.measurand);
        const double power = unit == gauge::UnitOf::square_millimetre ? 2.0
                             : unit == gauge::UnitOf::millimetre      ? 1.0
                                                                      : 0.0;
        trial.outcomes[reading.measurand] = {truth->second, reading.value / std::pow(print_factor, power),
                                             reading.U};
    }
    if (trial.usable)
        for (const auto& [measurand, truth] : truths)
            if (!trial.outcomes.contains(measurand)) trial.missed.push_back(measurand);
    return trial;
}

std::vector<Trial> run_trials(std::uint64_t first, int count, render::SceneKind kind, render::Framing framing,
                              int threads) {
    std::vector<std::optional<Trial>> trials(static_cast<std::size_t>(count));
    in_parallel(count, threads, [&](int i) {
        trials[static_cast<std::size_t>(i)] = run_trial(first + static_cast<std::uint64_t>(i), kind, framing);
    });
    std::vector<Trial> out;
    for (auto& trial : trials) out.push_back(std::move(trial.value()));
    return out;
}

CardFigures try_cards(std::uint64_t first, int count, render::CardSort sort, int threads) {
    struct Sight {
        bool seen = false, wrong = false, assumed = false;
        double corner_px = 0.0;
    };
    std::vector<Sight> sights(static_cast<std::size_t>(count));
    in_parallel(count, threads, [&](int i) {
        const std::uint64_t seed = first + static_cast<std::uint64_t>(i);
        render::SceneChoice choice;
        choice.card = sort;
        choice.decoys = true;
        const render::Scene scene = render::random_scene(seed, render::SceneKind::rope, choice);
        const render::Rendered rendered = render::render(scene);
        gauge::Request request;
        request.camera.focal_px = rendered.truth.focal_px;
        request.camera.focal_u_rel = 0.03;
        const gauge::Report report = value_or_throw(gauge::measure(rendered.bgr, request));
        Sight& sight = sights[static_cast<std::size_t>(i)];
        sight.seen = report.card.has_value();
        if (!sight.seen) return;
        sight.assumed = report.card->note.find("taken for") != std::string::npos;
        sight.wrong = !rendered.truth.card_corners_px;
        if (sight.wrong) return;
        // A plain card may be seen turned by half a turn.
        const auto& truth = *rendered.truth.card_corners_px;
        double apart[2] = {0.0, 0.0};
        for (std::size_t turn = 0; turn < 2; ++turn)
            for (std::size_t k = 0; k < 4; ++k)
                apart[turn] =
                    std::max(apart[turn], cv::norm(report.card->corners_px[k] - truth[(k + 2 * turn) % 4]));
        sight.corner_px = std::min(apart[0], apart[1]);
        sight.wrong = sight.corner_px > 0.02 * cv::norm(truth[1] - truth[0]);
    });
    CardFigures figures;
    std::vector<double> corners;
    for (const Sight& sight : sights) {
        figures.wrong += sight.wrong;
        if (!sight.seen || sight.wrong) continue;
        ++figures.found;
        figures.assumed += sight.assumed;
        corners.push_back(sight.corner_px);
    }
    figures.median_corner_px = median(std::move(corners));
    return figures;
}

std::map<Measurand, Figures> figures_of(const std::vector<Trial>& trials) {
    std::map<Measurand, Figures> figures;
    std::map<Measurand, std::vector<double>> errors, expanded;
    for (const Trial& trial : trials) {
        for (const auto& [measurand, outcome] : trial.outcomes) {
            ++figures[measurand].read;
            figures[measurand].covered += outcome.covered();
            errors[measurand].push_back(std::abs(outcome.error()));
            expanded[measurand].push_back(outcome.U);
        }
        for (const Measurand measurand : trial.missed) ++figures[measurand].missed;
        for (const Measurand measurand : trial.spurious) ++figures[measurand].spurious;
    }
    for (auto& [measurand, figure] : figures) {
        figure.median_error = median(errors[measurand]);
        figure.median_U = median(expanded[measurand]);
    }
    return figures;
}

}  // namespace frayhold::bench
