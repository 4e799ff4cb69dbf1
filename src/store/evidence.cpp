// SPDX-License-Identifier: Apache-2.0
#include "store/evidence.h"

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "store/json_cell.h"
#include "store/named_cell.h"

namespace frayhold::store {
namespace {

using nlohmann::json;

// Which row an advice belongs to: the name of its column in the table of advice.
struct AdviceOwner {
    const char* column;
    int number;
};

int next_number(const Database& database, const std::string& table, const std::string& hold) {
    return static_cast<int>(
               database.count("SELECT MAX(number) FROM " + table + " WHERE hold = :hold", {hold})) +
           1;
}

void insert_advice(Database& database, const std::string& hold, const AdviceOwner& owner,
                   const std::vector<record::AdviceEntry>& advice) {
    int turn = 0;
    for (const record::AdviceEntry& entry : advice)
        database.run(
            "INSERT INTO advice (hold, " + std::string(owner.column) +
                ", turn, criterion, outcome, probability, source, words, because, borderline, second_view) "
                "VALUES (:hold, :owner, :turn, :criterion, :outcome, :probability, :source, :words, "
                ":because, :borderline, :second_view)",
            {hold, owner.number, ++turn, entry.criterion, criteria::name_of(entry.outcome), entry.probability,
             entry.source, entry.words, entry.because, entry.borderline, entry.second_view});
}

std::vector<record::AdviceEntry> advice_of(const Database& database, const std::string& hold,
                                           const AdviceOwner& owner) {
    return database.all<record::AdviceEntry>(
        "SELECT criterion, outcome, probability, source, words, because, borderline, second_view FROM advice "
        "WHERE hold = :hold AND " +
            std::string(owner.column) + " = :owner ORDER BY turn",
        {hold, owner.number}, [](Row& row) {
            record::AdviceEntry entry;
            entry.criterion = row.text();
            entry.outcome = named(row.text(), criteria::outcome_named);
            entry.probability = row.real_or_none();
            entry.source = row.text();
            entry.words = row.text();
            entry.because = row.text();
            entry.borderline = row.boolean();
            entry.second_view = row.boolean();
            return entry;
        });
}

std::optional<double> none_where_infinite(double value) {
    if (std::isfinite(value)) return value;
    return std::nullopt;
}

std::string outline_cell(const std::vector<cv::Point2d>& outline) {
    json points = json::array();
    for (const cv::Point2d& point : outline) points.push_back({point.x, point.y});
    return points.dump();
}

std::string budget_cell(const std::vector<gauge::BudgetLine>& budget) {
    json lines = json::array();
    for (const gauge::BudgetLine& line : budget) {
        json entry{{"source", line.source}, {"u", line.u}};
        if (std::isfinite(line.dof)) entry["dof"] = line.dof;
        lines.push_back(entry);
    }
    return lines.dump();
}

std::vector<cv::Point2d> outline_from(const std::string& cell) {
    return from_json_cell<std::vector<cv::Point2d>>(cell, [](const json& points) {
        std::vector<cv::Point2d> outline;
        for (const json& point : points)
            outline.emplace_back(point.at(0).get<double>(), point.at(1).get<double>());
        return outline;
    });
}

std::vector<gauge::BudgetLine> budget_from(const std::string& cell) {
    return from_json_cell<std::vector<gauge::BudgetLine>>(cell, [](const json& lines) {
        std::vector<gauge::BudgetLine> budget;
        for (const json& line : lines)
            budget.push_back({line.at("source").get<std::string>(), line.at("u").get<double>(),
                              line.value("dof", std::numeric_limits<double>::infinity())});
        return budget;
    });
}

void insert_readings(Database& database, const record::PhotoEntry& photo) {
    int turn = 0;
    for (const gauge::Reading& reading : photo.readings)
        database.run(
            "INSERT INTO reading (hold, photo, turn, quantity, value, u, k, expanded_u, dof, outline, "
            "budget) "
            "VALUES (:hold, :photo, :turn, :quantity, :value, :u, :k, :expanded, :dof, :outline, :budget)",
            {photo.hold, photo.number, ++turn, gauge::name_of(reading.measurand), reading.value, reading.u,
             reading.k, reading.U, none_where_infinite(reading.dof), outline_cell(reading.outline_px),
             budget_cell(reading.budget)});
}

std::vector<gauge::Reading> readings_of(const Database& database, const record::PhotoEntry& photo) {
    return database.all<gauge::Reading>(
        "SELECT quantity, value, u, k, expanded_u, dof, outline, budget FROM reading WHERE hold = :hold AND "
        "photo = :photo ORDER BY turn",
        {photo.hold, photo.number}, [](Row& row) {
            gauge::Reading reading;
            reading.measurand = named(row.text(), gauge::measurand_named);
            reading.value = row.real();
            reading.u = row.real();
            reading.k = row.real();
            reading.U = row.real();
            reading.dof = row.real_or_none().value_or(std::numeric_limits<double>::infinity());
            reading.outline_px = outline_from(row.text());
            reading.budget = budget_from(row.text());
            return reading;
        });
}

record::Finding read_finding(Row& row) {
    record::Finding finding;
    finding.hold = row.text();
    finding.number = row.integer();
    finding.kind = row.text();
    finding.kind_words = row.text();
    finding.station = row.length_or_none();
    finding.side = row.text();
    finding.words = row.text();
    finding.found_by = row.text();
    finding.found = row.time();
    return finding;
}

record::PhotoEntry read_photo(Row& row) {
    record::PhotoEntry photo;
    photo.hold = row.text();
    photo.number = row.integer();
    photo.role = named(row.text(), record::photo_role_named);
    photo.sha256 = row.text();
    photo.file_name = row.text();
    photo.size_bytes = row.number();
    photo.taken = row.text();
    photo.usable = row.boolean();
    photo.reasons = texts_from_cell(row.text());
    photo.card_found = row.boolean();
    photo.report_json = row.text();
    photo.markup_sha256 = row.text_or_empty();
    photo.added_by = row.text();
    photo.added = row.time();
    return photo;
}

}  // namespace

record::Finding insert_finding(Database& database, record::Finding finding) {
    finding.number = next_number(database, "finding", finding.hold);
    database.run(
        "INSERT INTO finding (hold, number, kind, kind_words, station_mm, side, words, found_by, found) "
        "VALUES "
        "(:hold, :number, :kind, :kind_words, :station, :side, :words, :found_by, :found)",
        {finding.hold, finding.number, finding.kind, finding.kind_words, finding.station, finding.side,
         finding.words, finding.found_by, finding.found});
    insert_advice(database, finding.hold, {"finding", finding.number}, finding.advice);
    return finding;
}

record::PhotoEntry insert_photo(Database& database, record::PhotoEntry photo) {
    photo.number = next_number(database, "photo", photo.hold);
    database.run(
        "INSERT INTO photo (hold, number, role, sha256, file_name, size_bytes, taken, usable, reasons, "
        "card_found, report, markup, added_by, added) VALUES (:hold, :number, :role, :sha256, :file_name, "
        ":size, :taken, :usable, :reasons, :card, :report, :markup, :added_by, :added)",
        {photo.hold, photo.number, record::name_of(photo.role), photo.sha256, photo.file_name,
         photo.size_bytes, photo.taken, photo.usable, texts_cell(photo.reasons), photo.card_found,
         photo.report_json, or_null(photo.markup_sha256), photo.added_by, photo.added});
    insert_readings(database, photo);
    insert_advice(database, photo.hold, {"photo", photo.number}, photo.advice);
    return photo;
}

void insert_waived_view(Database& database, const record::WaivedView& view) {
    database.run(
        "INSERT INTO waived_view (hold, role, reason, waived_by, waived) VALUES (:hold, :role, :reason, :by, "
        ":waived)",
        {view.hold, record::name_of(view.role), view.reason, view.waived_by, view.waived});
}

std::vector<record::Finding> findings_of(const Database& database, const std::string& hold) {
    std::vector<record::Finding> findings = database.all<record::Finding>(
        "SELECT hold, number, kind, kind_words, station_mm, side, words, found_by, found FROM finding WHERE "
        "hold = "
        ":hold ORDER BY number",
        {hold}, read_finding);
    for (record::Finding& finding : findings)
        finding.advice = advice_of(database, hold, {"finding", finding.number});
    return findings;
}

std::vector<record::PhotoEntry> photos_of(const Database& database, const std::string& hold) {
    std::vector<record::PhotoEntry> photos = database.all<record::PhotoEntry>(
        "SELECT hold, number, role, sha256, file_name, size_bytes, taken, usable, reasons, card_found, "
        "report, markup, "
        "added_by, added FROM photo WHERE hold = :hold ORDER BY number",
        {hold}, read_photo);
    for (record::PhotoEntry& photo : photos) {
        photo.readings = readings_of(database, photo);
        photo.advice = advice_of(database, hold, {"photo", photo.number});
    }
    return photos;
}

std::vector<record::WaivedView> waived_views_of(const Database& database, const std::string& hold) {
    return database.all<record::WaivedView>(
        "SELECT hold, role, reason, waived_by, waived FROM waived_view WHERE hold = :hold ORDER BY waived, "
        "role",
        {hold}, [](Row& row) {
            record::WaivedView view;
            view.hold = row.text();
            view.role = named(row.text(), record::photo_role_named);
            view.reason = row.text();
            view.waived_by = row.text();
            view.waived = row.time();
            return view;
        });
}

}  // namespace frayhold::store
