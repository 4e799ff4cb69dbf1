// SPDX-License-Identifier: Apache-2.0
#include <cstdlib>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "cli/command_line.h"
#include "language/error_words.h"
#include "language/tr.h"
#include "language/wishes.h"
#include "photo/frame_memory.h"

namespace {

std::string environment(const char* name) {
    const char* value = std::getenv(name);
    return value == nullptr ? "" : value;
}

// By the environment. Where its catalogue cannot be read the person is told so, in English, and served in
// English.
void choose_language(frayhold::cli::Session& session) {
    using namespace frayhold::language;
    session.languages = std::make_shared<Languages>(usual_folders());
    try {
        session.catalogue = session.languages->first_of(wishes_of_environment(
            environment("LANGUAGE"), environment("LC_ALL"), environment("LC_MESSAGES"), environment("LANG")));
    } catch (const frayhold::Failure& failure) {
        std::cerr << "frayhold: " << frayhold::error_words(failure.error()) << '\n';
    }
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
    choose_language(session);
    const int code = frayhold::cli::run(std::vector<std::string>(argv + 1, argv + argc), session);
    std::cout.flush();
    if (!std::cout) {
        const frayhold::language::Speaking speaking(session.catalogue);
        std::cerr << "frayhold: "
                  << frayhold::tr("the output cannot be written; make room or choose another place") << '\n';
        return static_cast<int>(frayhold::Fault::outside);
    }
    return code;
}
