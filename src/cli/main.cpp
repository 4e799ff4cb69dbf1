// SPDX-License-Identifier: Apache-2.0
// The program as it is called: becomes the one of two that does what is asked. Measuring a photo needs
// neither database, mail nor typesetting, whose seventy libraries take as long to load as half of the photo
// to decode: frayhold-gauge does that, frayhold-desk everything else.
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <climits>
#include <cstring>
#include <iostream>
#include <string>
#include <string_view>

#include "units/error.h"

namespace {

// The folder above the program's own, where its parts are. Empty where the system does not tell.
std::string folder_above() {
    std::string path(PATH_MAX, '\0');
    const ssize_t length = ::readlink("/proc/self/exe", path.data(), path.size());
    if (length <= 0) return {};
    path.resize(static_cast<std::size_t>(length));
    for (int up = 0; up < 2; ++up) path.resize(std::min(path.rfind('/'), path.size()));
    return path;
}

}  // namespace

int main(int argc, char** argv) {
    const bool measures = argc > 1 && std::string_view(argv[1]) == "gauge";
    const std::string part = folder_above() + "/libexec/frayhold/frayhold-" + (measures ? "gauge" : "desk");
    ::execv(part.c_str(), argv);
    // Comes here only where that cannot be started. In English: the catalogues come with the parts.
    std::cerr << "frayhold: " << part << ": a part of the program cannot be started (" << std::strerror(errno)
              << "); install Frayhold anew\n";
    return static_cast<int>(frayhold::Fault::outside);
}
