// SPDX-License-Identifier: Apache-2.0
// Writes what is installed beside the program and made from its commands.
// Usage: frayhold_manual VERSION MANUAL_PAGE BASH_COMPLETION
#include <CLI/CLI.hpp>
#include <fstream>
#include <iostream>

#include "cli/command_tree.h"
#include "cli/manual.h"

int main(int argc, char** argv) {
    constexpr int words = 4;
    if (argc != words) {
        std::cerr << "usage: frayhold_manual VERSION MANUAL_PAGE BASH_COMPLETION\n";
        return 2;
    }
    frayhold::cli::Session session{std::cout, std::cerr, {}, {}, {}, {}, 0};
    const auto tree = frayhold::cli::command_tree(session);
    std::ofstream page(argv[2]), completion(argv[3]);
    page << frayhold::cli::manual_page(*tree, argv[1]);
    completion << frayhold::cli::bash_completion(*tree);
    page.close();
    completion.close();
    return page && completion ? 0 : 1;
}
