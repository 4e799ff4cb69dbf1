// SPDX-License-Identifier: Apache-2.0
// Measures a single photo and does nothing else: see main.cpp.
#include <CLI/CLI.hpp>
#include <memory>

#include "cli/bare_tree.h"
#include "cli/gauge_command.h"
#include "cli/program.h"

namespace {

std::unique_ptr<CLI::App> gauge_alone(frayhold::cli::Session& session) {
    auto tree = frayhold::cli::bare_tree(session);
    frayhold::cli::add_gauge_command(*tree, session);
    return tree;
}

}  // namespace

int main(int argc, char** argv) {
    return frayhold::cli::be_the_program(argc, argv, gauge_alone);
}
