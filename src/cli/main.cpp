// SPDX-License-Identifier: Apache-2.0
#include <cstdlib>
#include <iostream>
#include <string>
#include <vector>

#include "cli/command_line.h"
#include "photo/frame_memory.h"

namespace {

std::string environment(const char* name) {
    const char* value = std::getenv(name);
    return value == nullptr ? "" : value;
}

}  // namespace

int main(int argc, char** argv) {
    frayhold::photo::prepare_memory_for_frames();
    frayhold::cli::Session session{std::cout,
                                   std::cerr,
                                   {},
                                   environment("FRAYHOLD_STORE"),
                                   environment("FRAYHOLD_PHOTOS"),
                                   environment("FRAYHOLD_PHOTOS_KEY"),
                                   0};
    const int code = frayhold::cli::run(std::vector<std::string>(argv + 1, argv + argc), session);
    std::cout.flush();
    if (!std::cout) {
        std::cerr << "frayhold: the output cannot be written; make room or choose another place\n";
        return static_cast<int>(frayhold::Fault::outside);
    }
    return code;
}
