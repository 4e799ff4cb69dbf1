// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdlib>
#include <iostream>
#include <string>

#include "fuzz/entries.h"
#include "units/error.h"

namespace frayhold::fuzz {

inline std::string text_of(Bytes bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

// What does not hold ends the process, as a fault of memory would.
inline void demand(bool holds, const char* what) {
    if (holds) return;
    std::cerr << "This does not hold: " << what << '\n';
    std::abort();
}

inline void demand_words(const Error& error) {
    demand(!error.what.empty() && !error.mend.empty(), "a refusal says what is wrong and how to mend it");
}

}  // namespace frayhold::fuzz
