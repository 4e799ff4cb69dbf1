// SPDX-License-Identifier: Apache-2.0
#include "cli/card_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <optional>
#include <ostream>

#include "cli/whole_file.h"
#include "language/tr.h"
#include "pack/card_sheet.h"

namespace frayhold::cli {
namespace {

struct CardOptions {
    std::string file;
    std::string hold;
};

std::vector<std::byte> card_as(const CardOptions& options) {
    const std::optional<std::string> number =
        options.hold.empty() ? std::nullopt : std::optional(options.hold);
    if (options.file.ends_with(".pdf")) return pack::card_pdf(number);
    if (options.file.ends_with(".png")) return pack::card_png(number);
    throw Failure(Fault::usage, "-o", trf("\"{}\" ends in neither .pdf nor .png", options.file),
                  "name the file card.pdf or card.png");
}

}  // namespace

void add_card_command(CLI::App& app, Session& session) {
    CLI::App& command =
        *app.add_subcommand("card", tr("Make the reference card to print and lay beside the item"));
    auto options = std::make_shared<CardOptions>();
    command.add_option("-o,--output", options->file, tr("FILE.pdf or FILE.png"))->required();
    command.add_option("--hold", options->hold, tr("hold number to print on it"));
    command.callback([&session, options] {
        write_whole_file(options->file, card_as(*options));
        session.out << trf("{}: print it at 100 %, then check the ticks with a steel rule: 40 mm",
                           options->file)
                    << '\n';
    });
}

}  // namespace frayhold::cli
