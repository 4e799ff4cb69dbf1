// SPDX-License-Identifier: Apache-2.0
#include "cli/program.h"

#include <CLI/CLI.hpp>
#include <cstdlib>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "language/error_words.h"
#include "language/tr.h"
#include "language/wishes.h"
#include "photo/frame_memory.h"

namespace frayhold::cli {
namespace {

std::string environment(const char* name) {
    const char* value = std::getenv(name);
    return value == nullptr ? "" : value;
}

// By the environment. Where its catalogue cannot be read the person is told so, in English, and served in
// English.
void choose_language(Session& session) {
    using namespace language;
    session.languages = std::make_shared<Languages>(usual_folders());
    try {
        session.catalogue = session.languages->first_of(wishes_of_environment(
            environment("LANGUAGE"), environment("LC_ALL"), environment("LC_MESSAGES"), environment("LANG")));
    } catch (const Failure& failure) {
        std::cerr << "frayhold: " << error_words(failure.error()) << '\n';
    }
}

}  // namespace

int be_the_program(int argc, char** argv, const TreeMaker& tree) {
    photo::prepare_memory_for_frames();
    Session session{std::cout,
                    std::cerr,
                    {},
                    environment("FRAYHOLD_STORE"),
                    environment("FRAYHOLD_PHOTOS"),
                    environment("FRAYHOLD_PHOTOS_KEY"),
                    0};
    choose_language(session);
    const int code = run(std::vector<std::string>(argv + 1, argv + argc), session, tree);
    std::cout.flush();
    if (!std::cout) {
        const language::Speaking speaking(session.catalogue);
        std::cerr << "frayhold: " << tr("the output cannot be written; make room or choose another place")
                  << '\n';
        return static_cast<int>(Fault::outside);
    }
    return code;
}

}  // namespace frayhold::cli
