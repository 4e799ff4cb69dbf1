// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "photo/confined.h"

// Work on a stranger's bytes in a child process of its own, so that whatever they do to their reader happens
// there: it has little memory and time, no network, no other program, and nothing to write to but the pipe
// that brings back what it read.
namespace frayhold::photo {

struct ApartLimits {
    Confinement child;
    std::chrono::seconds clock{40};
    std::size_t most_answer_bytes = 1UL << 26U;  // of what it says, without the bulk
};

// What the child has to say: some words, and a bulk of bytes that stays where it is until the parent has
// taken it.
struct ApartAnswer {
    std::vector<std::byte> words;
    std::span<const std::byte> bulk;
};

enum class ApartEnd {
    done,
    not_started,  // no process to be had
    broke,        // ended by a limit, by a fault of its own, or with an answer that is none
};

struct ApartResult {
    ApartEnd end = ApartEnd::broke;
    std::vector<std::byte> words;
};

// Runs work in the child and gives its words. The bulk goes straight from the child's memory into what
// `place` gives for it, by the words and how many bytes are still to come; where the system does not allow
// that, through the pipe. A place for a part of it is asked for again when that part is there; an empty one
// refuses it. `meanwhile` runs here while the child works. An exception out of `work` breaks the child.
[[nodiscard]] ApartResult run_apart(
    const std::function<ApartAnswer()>& work, const ApartLimits& limits,
    const std::function<std::span<std::byte>(std::span<const std::byte> words, std::size_t bytes_left)>&
        place = {},
    const std::function<void()>& meanwhile = {});

}  // namespace frayhold::photo
