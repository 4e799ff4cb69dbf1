// SPDX-License-Identifier: Apache-2.0
#include "cli/gauge_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <array>
#include <ostream>

#include "cli/case_text.h"
#include "cli/text_table.h"
#include "cli/whole_file.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "criteria/advice.h"
#include "desk/photo_measuring.h"
#include "desk/shipped.h"
#include "gauge/camera_calibration.h"
#include "gauge/reading_words.h"
#include "language/error_words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/advice_entry.h"

namespace frayhold::cli {
namespace {

using gauge::CardChoice;
using gauge::Level;
using gauge::Subject;

// A word of the command line and what it stands for.
template <class Value>
struct Choice {
    std::string_view word;
    Value value;
};

constexpr std::array subjects{Choice<Subject>{"rope", Subject::rope},
                              Choice<Subject>{"webbing", Subject::webbing}};
constexpr std::array cards{
    Choice<CardChoice>{"auto", CardChoice::automatic}, Choice<CardChoice>{"printed", CardChoice::printed},
    Choice<CardChoice>{"id1", CardChoice::id1}, Choice<CardChoice>{"none", CardChoice::none}};
constexpr std::array levels{Choice<Level>{"bench", Level::bench}, Choice<Level>{"item", Level::item}};

template <class Choices>
auto chosen(const std::string& option, const std::string& text, const Choices& choices) {
    std::vector<std::string> words;
    for (const auto& choice : choices) {
        if (choice.word == text) return choice.value;
        words.emplace_back(choice.word);
    }
    not_a_choice(option, text, words);
}

gauge::HandMark hand_mark(gauge::Measurand measurand, const std::string& option, const std::string& text,
                          std::size_t least_points) {
    gauge::HandMark mark;
    mark.measurand = measurand;
    mark.points_px = points_of(option, text);
    if (mark.points_px.size() < least_points)
        throw Failure(
            Fault::usage, option,
            trn("{} point was given, at least {} are needed", "{} points were given, at least {} are needed",
                mark.points_px.size(), least_points),
            "give them as x,y,x,y");
    return mark;
}

gauge::RuleMark rule_of(const std::string& text) {
    const std::size_t last = text.rfind(',');
    const Failure not_a_rule(Fault::usage, "--rule",
                             tr("it needs two points and the millimetres between them"),
                             tr("give x,y,x,y,mm"));
    if (last == std::string::npos) throw not_a_rule;
    const std::vector<cv::Point2d> points = points_of("--rule", text.substr(0, last));
    if (points.size() != 2) throw not_a_rule;
    return {{points[0], points[1]}, length_of("--rule", text.substr(last + 1))};
}

gauge::Camera camera_from_profile(const std::string& path, const photo::Photo& photo) {
    const std::vector<std::byte> bytes = read_whole_file(path);
    const std::string_view text(reinterpret_cast<const char*>(bytes.data()), bytes.size());
    const gauge::CameraProfile profile = value_or_throw(gauge::profile_from_json(text, path));
    if (!gauge::holds_for(profile, photo.exif))
        throw Failure(Fault::input, path,
                      "the profile is of another camera, lens or focal length than the photo",
                      "leave out --camera or calibrate this camera");
    gauge::Camera camera =
        value_or_throw(gauge::camera_of(profile, photo.bgr.size(), photo.exif.orientation));
    camera.source = "profile " + path;
    return camera;
}

std::string card_words(const gauge::CardFit& card) {
    std::vector<std::string> words{card.kind == gauge::CardKind::printed ? tr("printed card")
                                   : card.kind == gauge::CardKind::id1   ? tr("plain ID-1 card")
                                   : card.kind == gauge::CardKind::rule_by_hand
                                       ? tr("two points of a rule")
                                       : tr("corners given by hand")};
    if (card.tilt) words.push_back(trf("tilted {:.1f}°", card.tilt->value()));
    if (card.distance) words.push_back(trf("{:.0f} mm away", card.distance->value()));
    words.push_back(trf("{:.4f} mm a pixel", card.mm_per_px));
    return joined(words, ", ") + (card.note.empty() ? "" : "; " + tr_recorded(card.note));
}

// U by draws beside U by the budget: half of what 95 % of the draws span.
std::string draws_words(const gauge::Reading& reading) {
    if (!reading.monte_carlo) return {};
    const gauge::Interval& interval = reading.monte_carlo->symmetric;
    return trf("budget ± {:.3f}, {} draws ± {:.3f}", reading.U, reading.monte_carlo->draws,
               (interval.high - interval.low) / 2);
}

void print_for_person(std::ostream& out, const std::string& name, const photo::Photo& photo,
                      const desk::MeasuredPhoto& measured) {
    const gauge::Report& report = measured.report;
    const cv::Mat& picture = photo.bgr;
    out << (photo.exif.taken.empty()
                ? trf("{}: {} x {} pixels", name, picture.cols, picture.rows)
                : trf("{}: {} x {} pixels, taken {}", name, picture.cols, picture.rows, photo.exif.taken))
        << '\n';
    if (report.card) out << trf("Scale: {}", card_words(*report.card)) << '\n';
    if (!report.readings.empty()) out << '\n';
    TextTable readings;
    for (const gauge::Reading& reading : report.readings)
        readings.add({tr_word(gauge::words_for(reading.measurand)), gauge::value_words(reading),
                      fmt::format("k = {:.2f}", reading.k), draws_words(reading)});
    readings.print(out, 2);
    if (!report.remarks.empty()) out << '\n';
    for (const std::string& remark : report.remarks) out << trf("Note: {}", tr_recorded(remark)) << '\n';
    if (!measured.advice.empty()) out << '\n';
    for (const record::AdviceEntry& advice : measured.advice) {
        out << trf("Advice: {}", record::words_for(advice.outcome));
        if (!advice.because.empty()) out << " (" << criteria::because_words(advice.because) << ')';
        out << '\n';
        if (!advice.criterion.empty()) out << "  " << source_words(advice) << '\n';
    }
    out << '\n' << tr_word(criteria::caution) << '\n';
}

// What has changed since an earlier photo: a quantity a line, before, after and the change.
void print_changes(std::ostream& out, const std::string& earlier, const gauge::Comparison& comparison) {
    out << trf("Since {}: {}", earlier, tr_recorded(comparison.remark)) << '\n';
    const auto words = [](const std::optional<gauge::Reading>& reading) {
        return reading ? gauge::value_words(*reading) : tr("not read");
    };
    TextTable changes;
    for (const gauge::Change& change : comparison.changes)
        // Translators: before and after, in columns: "11.0 ± 0.4 mm then 12.5 ± 0.4 mm now".
        changes.add({tr_word(gauge::words_for(change.measurand)), words(change.before), tr("then"),
                     words(change.after), tr("now"),
                     change.change ? trf("change {}", gauge::value_words(*change.change)) : "",
                     change.change && !change.is_plain() ? tr("within its uncertainty") : ""});
    changes.print(out, 2);
    out << '\n';
}

struct GaugeOptions {
    std::string photo;
    std::string against;
    std::string mark;
    bool json = false;
    int monte_carlo = 0;
};

void run_gauge(Session& session, const GaugeOptions& options, const MeasuringOptions& measuring) {
    gauge::Request request = request_of(measuring);
    request.monte_carlo_draws = options.monte_carlo;
    const photo::Photo photo = photo::load(options.photo);
    request.camera = camera_of(measuring, photo);
    criteria::About about;
    about.subject =
        request.subject == Subject::webbing ? criteria::Subject::webbing : criteria::Subject::rope;
    const desk::MeasuredPhoto measured =
        desk::measure_photo(photo, request, desk::usual_criteria(), about, !options.mark.empty());

    if (!measured.markup.empty()) write_whole_file(options.mark, measured.markup);
    const gauge::Quality& quality = measured.report.quality;
    std::optional<gauge::Comparison> comparison;
    if (quality.usable && !options.against.empty())
        comparison =
            desk::compare_photos(photo::load(options.against), options.against, request, measured.report);
    if (options.json)
        session.out << (comparison ? desk::report_json(photo, measured.report, measured.advice, &*comparison)
                                   : measured.report_json);
    if (!quality.usable) {
        session.err << error_words({Fault::input,
                                    trf("this photo cannot be measured: {}", recorded_words(quality.reasons)),
                                    options.photo, ""})
                    << '\n';
        session.exit_code = static_cast<int>(Fault::input);
        return;
    }
    if (options.json) return;
    if (comparison) print_changes(session.out, options.against, *comparison);
    print_for_person(session.out, options.photo, photo, measured);
}

}  // namespace

bool MeasuringOptions::any_given() const {
    return !subject.empty() || !nominal.empty() || card != "auto" || level != "bench" || !corners.empty() ||
           !rule.empty() || !focal_px.empty() || !camera_profile.empty() || !distances.empty() ||
           !areas.empty() || !glazes.empty();
}

std::shared_ptr<MeasuringOptions> add_measuring_options(CLI::App& command, bool subject_required) {
    auto options = std::make_shared<MeasuringOptions>();
    auto* subject = command.add_option("--subject", options->subject,
                                       trf("what is measured: {} or {}", "rope", "webbing"));
    if (subject_required) subject->required();
    command.add_option("--nominal", options->nominal,
                       tr("diameter or width as sold, in mm: narrows the search only"));
    command.add_option("--card", options->card,
                       trf("the reference card: {}, {}, {} (any plain ID-1 card) or {} (default {})", "auto",
                           "printed", "id1", "none", "auto"));
    command.add_option(
        "--corners", options->corners,
        tr("corners of an ID-1 card by hand, x,y four times, clockwise from its own top left"));
    command.add_option("--rule", options->rule,
                       tr("two points of a rule instead of a card, and the mm between them: x,y,x,y,mm"));
    command.add_option("--focal-px", options->focal_px, tr("focal length in pixels, good to 1 %"));
    command.add_option("--camera", options->camera_profile,
                       tr("camera profile, a file made by 'camera calibrate'"));
    command.add_option("--level", options->level,
                       trf("where the card lies: {}, or {} (raised to its axis)", "bench", "item"));
    command
        .add_option("--distance", options->distances,
                    tr("measure along x,y,x,y… on the item; may be repeated"))
        ->allow_extra_args(false);
    command.add_option("--area", options->areas, tr("measure the area inside x,y,x,y,x,y…; may be repeated"))
        ->allow_extra_args(false);
    command.add_option("--glaze", options->glazes, tr("glazed length along x,y,x,y…; may be repeated"))
        ->allow_extra_args(false);
    return options;
}

gauge::Request request_of(const MeasuringOptions& options) {
    gauge::Request request;
    if (!options.subject.empty()) request.subject = chosen("--subject", options.subject, subjects);
    if (!options.nominal.empty()) request.nominal = length_of("--nominal", options.nominal);
    request.card = chosen("--card", options.card, cards);
    request.level = chosen("--level", options.level, levels);
    if (!options.corners.empty()) {
        const std::vector<cv::Point2d> points = points_of("--corners", options.corners);
        std::array<cv::Point2d, 4> corners;
        if (points.size() != corners.size())
            throw Failure(
                Fault::usage, "--corners",
                trn("{} point was given, 4 are needed", "{} points were given, 4 are needed", points.size()),
                "give x,y four times");
        std::copy(points.begin(), points.end(), corners.begin());
        request.corners_px = corners;
    }
    if (!options.rule.empty()) request.rule = rule_of(options.rule);
    for (const std::string& text : options.distances)
        request.marks.push_back(hand_mark(gauge::Measurand::distance, "--distance", text, 2));
    for (const std::string& text : options.areas)
        request.marks.push_back(hand_mark(gauge::Measurand::area, "--area", text, 3));
    for (const std::string& text : options.glazes)
        request.marks.push_back(hand_mark(gauge::Measurand::glaze_length, "--glaze", text, 2));
    return request;
}

gauge::Camera camera_of(const MeasuringOptions& options, const photo::Photo& photo) {
    if (!options.camera_profile.empty()) return camera_from_profile(options.camera_profile, photo);
    if (options.focal_px.empty()) return desk::camera_from_exif(photo);
    gauge::Camera camera;
    camera.focal_px = number_of("--focal-px", options.focal_px);
    if (*camera.focal_px <= 0.0)
        throw Failure(Fault::usage, "--focal-px", "the focal length must be above 0", "see --help");
    constexpr double as_the_help_says = 0.01;
    camera.focal_u_rel = as_the_help_says;
    camera.source = "given";
    return camera;
}

void add_gauge_command(CLI::App& app, Session& session) {
    CLI::App& command =
        *app.add_subcommand("gauge", tr("Measure one photo in millimetres, each with its uncertainty"));
    command.footer(tr_word(criteria::caution));
    auto options = std::make_shared<GaugeOptions>();
    command.add_option("PHOTO", options->photo, tr("JPEG, PNG or HEIC as the camera saved it"))->required();
    auto measuring = add_measuring_options(command, true);
    command.add_option("--mark", options->mark, tr("write the marked-up picture, a JPEG, to this file"));
    command.add_option(
        "--against", options->against,
        tr("an earlier photo of the same place: what has changed since, with its uncertainty"));
    take_whole_number(
        command.add_option("--monte-carlo", options->monte_carlo,
                           tr("check each budget by so many random draws, 1000 or more (JCGM 101)")),
        1000, 10'000'000);
    command.add_flag("--json", options->json, tr("print JSON, numbers unrounded"));
    command.callback([&session, options, measuring] { run_gauge(session, *options, *measuring); });
}

}  // namespace frayhold::cli
