// SPDX-License-Identifier: Apache-2.0
// The program as it is called: becomes the one of two that does what is asked. Measuring a photo needs
// neither database, mail nor typesetting, whose seventy libraries take as long to load as half of the photo
// to decode: frayhold-gauge does that, frayhold-desk everything else.
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <iostream>
#include <string_view>

#include "units/error.h"
#include "units/program_place.h"

int main(int argc, char** argv) {
    const bool measures = argc > 1 && std::string_view(argv[1]) == "gauge";
    const std::filesystem::path part = frayhold::program_prefix().value_or("/") / "libexec" / "frayhold" /
                                       (measures ? "frayhold-gauge" : "frayhold-desk");
    ::execv(part.c_str(), argv);
    // Comes here only where that cannot be started. In English: the catalogues come with the parts.
    std::cerr << "frayhold: " << part.string() << ": a part of the program cannot be started ("
              << std::strerror(errno) << "); install Frayhold anew\n";
    return static_cast<int>(frayhold::Fault::outside);
}
