// SPDX-License-Identifier: Apache-2.0
#include "language/speaking.h"

namespace frayhold::language {
namespace {

// Not handed through every call, since whatever can fail has something to say. It is only ever changed by the
// scope of a Speaking on its own thread.
thread_local const Catalogue* in_force = nullptr;

}  // namespace

Speaking::Speaking(const Catalogue* catalogue) : before_(in_force) {
    in_force = catalogue;
}

Speaking::~Speaking() {
    in_force = before_;
}

const Catalogue* spoken() {
    return in_force;
}

std::string spoken_name() {
    return in_force == nullptr ? "en" : in_force->name();
}

}  // namespace frayhold::language
