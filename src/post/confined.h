// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstddef>

namespace frayhold::post {

// Takes from this process, for good, what a reader of strangers' mail does not need: memory beyond what it
// holds and `memory_bytes`, processor time, core dumps, and by seccomp every system call but those for
// memory, for ending, for reading files and for writing to the one descriptor. A kernel without seccomp
// leaves the rest: the process then still cannot make a file grow. False where a limit could not be set.
[[nodiscard]] bool confine(int writable, std::size_t memory_bytes, std::chrono::seconds processor);

}  // namespace frayhold::post
