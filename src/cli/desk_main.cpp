// SPDX-License-Identifier: Apache-2.0
// Every command: see main.cpp.
#include <CLI/CLI.hpp>

#include "cli/command_tree.h"
#include "cli/program.h"

int main(int argc, char** argv) {
    return frayhold::cli::be_the_program(argc, argv, frayhold::cli::command_tree);
}
