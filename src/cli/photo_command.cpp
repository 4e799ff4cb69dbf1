// SPDX-License-Identifier: Apache-2.0
#include "cli/photo_command.h"

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/gauge_command.h"
#include "cli/text_table.h"
#include "cli/whole_file.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "language/error_words.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

std::string role_words() {
    std::vector<std::string> names;
    for (const record::PhotoRole role : record::all_photo_roles()) names.emplace_back(record::name_of(role));
    return joined(names, ", ");
}

record::PhotoRole role_of(const std::string& option, const std::string& word) {
    return choice_of(option, word, record::photo_role_named, record::all_photo_roles(),
                     [](record::PhotoRole role) { return record::name_of(role); });
}

const record::PhotoEntry& photo_numbered(const record::CaseFile& file, int number) {
    for (const record::PhotoEntry& photo : file.photos)
        if (photo.number == number) return photo;
    throw Failure(Fault::input, file.hold.number, trf("there is no photo {}", number),
                  trf("see 'photo list {}'", file.hold.number));
}

// What was asked beyond what follows from the item; the item's own size where none was given.
gauge::Request asked_request(const MeasuringOptions& measuring, const desk::Desk& desk,
                             const std::string& hold, record::PhotoRole role, const std::string& file) {
    const record::Item item = desk.case_file(hold).item;
    const gauge::Request usual = desk::usual_request(item, role);
    gauge::Request request = request_of(measuring);
    if (measuring.subject.empty()) request.subject = usual.subject;
    if (!request.nominal) request.nominal = usual.nominal;
    if (request.card == gauge::CardChoice::automatic) request.card = usual.card;
    request.camera = camera_of(measuring, photo::load(file));
    return request;
}

void add_add(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        std::string file;
        std::string role;
        std::string who;
        bool json = false;
    };
    CLI::App& command =
        *group.add_subcommand("add", tr("Add a photo to a hold, measured and kept unaltered"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    command.add_option("PHOTO", options->file, tr("JPEG, PNG or HEIC as the camera saved it"))->required();
    command.add_option("--role", options->role, trf("what it shows: {}", role_words()))->required();
    auto measuring = add_measuring_options(command, false);
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, tr("print the photo's entry as JSON"));
    add_caution(command);
    command.callback([&session, options, measuring] {
        desk::PhotoOrder order;
        order.role = role_of("--role", options->role);
        order.file_name = std::filesystem::path(options->file).filename().string();
        desk::Desk desk = open_desk(session, options->who);
        if (measuring->any_given())
            order.request = asked_request(*measuring, desk, options->hold, order.role, options->file);
        order.bytes = read_whole_file(options->file);
        const record::PhotoEntry added = desk.add_photo(options->hold, order);
        if (!added.usable) {
            session.err << error_words(
                               {Fault::input,
                                trf("it does not count as evidence: {}", recorded_words(added.reasons)),
                                options->file, ""})
                        << '\n';
            session.exit_code = static_cast<int>(Fault::input);
        }
        if (options->json) return print_json(session.out, record::as_json(added));
        // Translators: a hold, a photo's number and what it shows, "H-2026-0001: photo 2 is kept as
        // close-up".
        session.out << trf("{}: photo {} is kept as {}", added.hold, added.number,
                           record::words_for(added.role))
                    << '\n';
        print_readings(session.out, added.readings, 2);
        if (added.usable && !added.advice.empty()) print_advice(session.out, added.advice, 2);
    });
}

void add_waive(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        std::string role;
        std::string reason;
        std::string who;
    };
    CLI::App& command =
        *group.add_subcommand("waive", tr("State why a photo cannot be had, such as a label worn off"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    command.add_option("ROLE", options->role, trf("which photo: {}", role_words()))->required();
    command.add_option("--reason", options->reason, tr("why it cannot be had"))->required();
    add_by_option(command, options->who);
    command.callback([&session, options] {
        const record::PhotoRole role = role_of("ROLE", options->role);
        desk::Desk desk = open_desk(session, options->who);
        desk.waive_view(options->hold, role, options->reason);
        // Translators: a hold, which photo cannot be had, and why.
        session.out << trf("{}: {} waived: {}", options->hold, record::words_for(role), options->reason)
                    << '\n';
    });
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("list", tr("List the photos of a hold"));
    auto hold = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("HOLD", *hold, tr("the hold's number"))->required();
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, hold, json] {
        const std::vector<record::PhotoEntry> photos = open_desk(session).case_file(*hold).photos;
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::PhotoEntry& photo : photos) list.push_back(record::as_json(photo));
            return print_json(session.out, list);
        }
        TextTable table({trc("number", "no"), tr("shows"), tr("file"), trc("when", "taken"), tr("state")});
        for (const record::PhotoEntry& photo : photos)
            table.add({std::to_string(photo.number), record::words_for(photo.role), photo.file_name,
                       photo.taken, photo.usable ? trc("photo", "good") : recorded_words(photo.reasons)});
        table.print(session.out);
    });
}

void add_show(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        int number = 0;
        std::string original;
        std::string mark;
        bool json = false;
    };
    CLI::App& command =
        *group.add_subcommand("show", tr("Show one photo's readings, or write its picture to a file"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    take_whole_number(command.add_option("NUMBER", options->number, tr("the photo's number within the hold")),
                      1)
        ->required();
    command.add_option("--original", options->original,
                       tr("write the original file, unaltered, to this file"));
    command.add_option("--mark", options->mark, tr("write the marked-up picture to this file"));
    command.add_flag("--json", options->json, tr("print the measured report as JSON"));
    add_caution(command);
    command.callback([&session, options] {
        const desk::Desk desk = open_desk(session);
        const record::CaseFile file = desk.case_file(options->hold);
        const record::PhotoEntry& photo = photo_numbered(file, options->number);
        if (!options->original.empty()) write_whole_file(options->original, desk.kept_bytes(photo.sha256));
        if (!options->mark.empty()) {
            if (photo.markup_sha256.empty())
                throw Failure(Fault::input, "--mark", "this photo has no marked-up picture",
                              "leave out --mark");
            write_whole_file(options->mark, desk.kept_bytes(photo.markup_sha256));
        }
        if (options->json) {
            session.out << photo.report_json;
            return;
        }
        session.out << trf("{}: photo {}: {} ({}), SHA-256 {}", photo.hold, photo.number,
                           record::words_for(photo.role), photo.file_name, photo.sha256)
                    << '\n';
        if (!photo.usable)
            session.out << "  " << trf("It does not count as evidence: {}", recorded_words(photo.reasons))
                        << '\n';
        print_readings(session.out, photo.readings, 2);
        print_advice(session.out, photo.advice, 2);
    });
}

}  // namespace

void add_photo_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("photo", tr("Photos of a hold"));
    group.require_subcommand(1);
    add_add(group, session);
    add_waive(group, session);
    add_list(group, session);
    add_show(group, session);
}

}  // namespace frayhold::cli
