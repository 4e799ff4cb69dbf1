// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstddef>

namespace frayhold::photo {

// What a process that reads a stranger's file may use.
struct Confinement {
    std::size_t memory_bytes = 512UL * 1024 * 1024;  // beyond what the program holds already
    std::chrono::seconds processor{20};
    // Converting a mail's charset loads a table of the C library's; decoding a picture reads nothing.
    bool may_read_files = false;
};

// Takes from this process, for good, what such a reader does not need: memory and processor time beyond the
// limits, core dumps, and by seccomp every system call but those for memory, for threads of and signals to
// itself, for ending, for the time, for reading what is open, for asking what a file is and for writing to
// the one descriptor. A kernel without seccomp leaves the rest: the process then still cannot make a file
// grow. False where a limit could not be set.
[[nodiscard]] bool confine(int writable, const Confinement& limits);

// Whether this kernel can filter system calls. Where it cannot, a person should be told.
[[nodiscard]] bool can_filter_calls();

}  // namespace frayhold::photo
