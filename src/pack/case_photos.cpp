// SPDX-License-Identifier: Apache-2.0
// The photos of the case's PDF: each picture with its facts, readings and width profile.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "gauge/reading_words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "pack/case_sections.h"
#include "pack/photo_report.h"
#include "pack/profile_plot.h"
#include "pack/words.h"

namespace frayhold::pack {
namespace {

constexpr double measured_picture_width = mm(124);
constexpr double measured_picture_height = mm(98);
constexpr double plain_picture_width = mm(84);
constexpr double plain_picture_height = mm(66);
constexpr double facts_gap = mm(5);

// Names and words set one above the other, beside a picture.
class Facts {
  public:
    Facts(cairo_t* context, double width) : context_(context), width_(width) {}

    void add(std::string_view name, const std::string& words) {
        if (words.empty()) return;
        blocks_.emplace_back(context_, name,
                             Style{.family = Family::sans, .size_pt = 6.4, .ink = inks::quiet}, width_);
        blocks_.emplace_back(context_, words, Style{.family = Family::sans, .size_pt = 7.4}, width_);
    }
    [[nodiscard]] double height() const {
        double height = 0;
        for (std::size_t i = 0; i < blocks_.size(); ++i)
            height += blocks_[i].height_pt() + (i % 2 == 1 ? gap : 0);
        return height;
    }
    void draw(cairo_t* context, double x, double y) const {
        for (std::size_t i = 0; i < blocks_.size(); ++i) {
            blocks_[i].draw(context, x, y);
            y += blocks_[i].height_pt() + (i % 2 == 1 ? gap : 0);
        }
    }

  private:
    static constexpr double gap = 4;
    cairo_t* context_;
    double width_;
    std::vector<TextBlock> blocks_;
};

std::string card_words(const PhotoReport& report) {
    if (report.card_kind == "printed") return tr("printed reference card");
    if (report.card_kind == "id1") return tr("plain ID-1 card");
    if (report.card_kind == "rule") return tr("two points of a rule");
    if (report.card_kind == "corners") return tr("card by corners given by hand");
    return "";
}

std::string view_words(const PhotoReport& report) {
    if (!report.tilt_deg || !report.distance_mm) return "";
    return trf("tilted about {:.0f}°, from about {:.0f} cm", *report.tilt_deg, *report.distance_mm / 10);
}

std::string quality_words(const PhotoReport& report) {
    if (!report.sharpness || *report.sharpness <= 0) return tr("passed");
    const double edge_px = 1.0 / *report.sharpness;
    if (!report.clipped_fraction) return trf("passed; edges about {:.1f} px wide", edge_px);
    // Translators: blown out: the share of the picture that is so bright that it shows nothing.
    return trf("passed; edges about {:.1f} px wide, {:.1f} % blown out", edge_px,
               100 * *report.clipped_fraction);
}

Facts facts_of(cairo_t* context, double width, const record::PhotoEntry& photo, const PhotoReport& report,
               bool marked) {
    Facts facts(context, width);
    facts.add(tr("File"), photo.file_name);
    std::string taken = photo.taken;
    std::replace(taken.begin(), taken.end(), 'T', ' ');
    facts.add(tr("Taken, by the camera's clock"), taken);
    facts.add(tr("Camera"), report.camera);
    facts.add(tr("Added"), fmt::format("{}, {}", photo.added_by, to_text(photo.added).substr(0, 10)));
    facts.add(tr("Scale from"), card_words(report));
    facts.add(tr("View"), view_words(report));
    facts.add(tr("Quality check"), quality_words(report));
    facts.add(tr("Note"), tr_recorded(report.card_note));
    facts.add(tr("Picture"), marked ? tr("with outlines and readings drawn on it") : tr("as taken"));
    facts.add(tr("SHA-256 of the original begins"), photo.sha256.substr(0, 16));
    return facts;
}

// With two significant digits: "0.20", "11", "240".
std::string two_digits(double value) {
    const int places = std::max(0, 1 - static_cast<int>(std::floor(std::log10(value))));
    return fmt::format("{:.{}f}", value, places);
}

// The largest lines of the budget, in the unit of the reading, that make up most of u.
std::string largest_sources(const gauge::Reading& reading) {
    std::vector<gauge::BudgetLine> lines = reading.budget;
    std::stable_sort(lines.begin(), lines.end(), [](const auto& a, const auto& b) { return a.u > b.u; });
    const std::string_view symbol = gauge::symbol_of(gauge::unit_of(reading.measurand));
    constexpr std::size_t shown = 3;
    std::string words;
    for (std::size_t i = 0; i < std::min(shown, lines.size()) && lines[i].u > 0; ++i)
        words += fmt::format("{}{} {}{}{}", words.empty() ? "" : "; ", tr_recorded(lines[i].source),
                             two_digits(lines[i].u), symbol.empty() ? "" : " ", symbol);
    return words;
}

std::string unit_words(const gauge::Reading& reading) {
    const std::string_view symbol = gauge::symbol_of(gauge::unit_of(reading.measurand));
    return symbol.empty() ? tr("number") : std::string(symbol);
}

// value_words ends in the unit, which has a column of its own here.
std::string value_without_unit(const gauge::Reading& reading) {
    std::string words = gauge::value_words(reading);
    const std::string_view symbol = gauge::symbol_of(gauge::unit_of(reading.measurand));
    if (!symbol.empty()) words.resize(words.size() - symbol.size() - 1);
    return words;
}

void add_readings(Flow& flow, const std::vector<gauge::Reading>& readings) {
    std::vector<Row> rows;
    for (const gauge::Reading& reading : readings)
        rows.push_back({{capital(tr_word(gauge::words_for(reading.measurand))), styles::table},
                        {value_without_unit(reading), styles::table_strong},
                        {unit_words(reading), styles::table},
                        {fmt::format("{:.2f}", reading.k), styles::table},
                        {largest_sources(reading), styles::table_quiet}});
    const double name = mm(33);
    const double value = mm(29);
    const double unit = mm(15);
    const double k = mm(11);
    add_table(
        flow,
        {{tr("Reading"), name},
         {tr("Value ± U"), value, Align::right},
         {tr("Unit"), unit},
         {"k", k},
         {tr("Largest in its budget, as standard uncertainty"), flow.width() - name - value - unit - k}},
        rows, 6);
}

// "sound width 11.03 ± 0.26 mm" of the photo's own readings; empty where it was not read.
std::string sound_words(const std::vector<gauge::Reading>& readings) {
    for (const gauge::Reading& reading : readings)
        if (reading.measurand == gauge::Measurand::sound_width ||
            reading.measurand == gauge::Measurand::web_width)
            return tr_word(gauge::words_for(reading.measurand)) + " " + gauge::value_words(reading);
    return "";
}

void add_profile(Flow& flow, const PhotoReport& report, const std::vector<gauge::Reading>& readings) {
    if (!has_profile(report)) return;
    add_paragraph(flow, tr("Width along the item"),
                  Style{.family = Family::sans, .size_pt = 6.8, .ink = inks::quiet}, 10, true);
    Block plot;
    plot.gap = 3;
    plot.height = profile_plot_height_pt;
    const double width = flow.width();
    plot.draw = [report, words = sound_words(readings), width](cairo_t* context, double x, double y) {
        draw_profile(context, report, words, x, y, width);
    };
    flow.add(std::move(plot));
}

void add_picture(Flow& flow, PdfDocument& document, const record::PhotoEntry& photo,
                 const CasePicture* picture, const PhotoReport& report) {
    const bool measured = !photo.readings.empty();
    double width = 0;
    double height = 0;
    if (picture != nullptr) {
        const PictureSize stored = jpeg_size(picture->jpeg);
        const bool lies_on_side = picture->orientation >= 5 && picture->orientation <= 8;
        const double across = lies_on_side ? stored.height_px : stored.width_px;
        const double down = lies_on_side ? stored.width_px : stored.height_px;
        const double scale = std::min((measured ? measured_picture_width : plain_picture_width) / across,
                                      (measured ? measured_picture_height : plain_picture_height) / down);
        width = across * scale;
        height = down * scale;
    }
    const double facts_left = width > 0 ? width + facts_gap : 0;
    const Facts facts = facts_of(flow.context(), flow.width() - facts_left, photo, report,
                                 picture != nullptr && picture->marked);
    Block block;
    block.gap = 4;
    block.height = std::max(height, facts.height());
    block.with_next = measured;
    block.draw = [&document, picture, facts, facts_left, width, height](cairo_t* context, double x,
                                                                        double y) {
        if (picture != nullptr) document.draw_jpeg(picture->jpeg, picture->orientation, x, y, width, height);
        facts.draw(context, x + facts_left, y);
    };
    flow.add(std::move(block));
}

}  // namespace

void add_photos(Flow& flow, PdfDocument& document, const CasePdfInput& input) {
    const record::CaseFile& file = input.file;
    if (!file.photos.empty() || !file.waived.empty()) add_heading(flow, tr("Photos and readings"));
    const bool any_reading =
        std::any_of(file.photos.begin(), file.photos.end(),
                    [](const record::PhotoEntry& photo) { return photo.usable && !photo.readings.empty(); });
    if (any_reading)
        add_paragraph(
            flow,
            tr("Each reading is a value ± U. U is its expanded uncertainty, k times the combined standard "
               "uncertainty: the true value lies within it in about 95 of 100 cases. The whole budgets stand "
               "in case.json."),
            styles::aside, 0);
    for (const record::PhotoEntry& photo : file.photos) {
        if (!photo.usable) continue;
        const PhotoReport report = read_photo_report(photo.report_json);
        const auto at = input.pictures.find(photo.number);
        add_subheading(flow, trf("Photo {}: {}", photo.number, record::words_for(photo.role)));
        add_picture(flow, document, photo, at == input.pictures.end() ? nullptr : &at->second, report);
        add_readings(flow, photo.readings);
        for (const std::string& remark : report.remarks)
            add_paragraph(flow, tr_recorded(remark), styles::aside, 4);
        add_profile(flow, report, photo.readings);
    }

    std::vector<Row> rows;
    for (const record::PhotoEntry& photo : file.photos) {
        if (photo.usable) continue;
        std::string reasons;
        for (const std::string& reason : photo.reasons)
            reasons += (reasons.empty() ? "" : "\n") + capital(tr_recorded(reason));
        rows.push_back(
            {{trf("Photo {}", photo.number), styles::table},
             {fmt::format("{} ({})", capital(record::words_for(photo.role)), photo.file_name), styles::table},
             {reasons, styles::table_quiet}});
    }
    for (const record::WaivedView& view : file.waived)
        rows.push_back({{tr("No photo"), styles::table},
                        {capital(record::words_for(view.role)), styles::table},
                        {// Translators: the reason why there is no photo of a view, who gave it and the day.
                         trf("Cannot be had: {} ({}, {})", view.reason, view.waived_by,
                             to_text(view.waived).substr(0, 10)),
                         styles::table_quiet}});
    if (rows.empty()) return;
    add_subheading(flow, tr("Not measured, and why"));
    const double number = mm(18);
    const double view = mm(66);
    add_table(flow, {{"", number}, {tr("View"), view}, {tr("Reason"), flow.width() - number - view}}, rows,
              2);
}

}  // namespace frayhold::pack
