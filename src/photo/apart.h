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
// and the shared memory that bring back what it read.
namespace frayhold::photo {

struct ApartLimits {
    Confinement child;
    std::chrono::seconds clock{40};
    std::size_t most_answer_bytes = 1UL << 26U;  // of its words
};

// Memory that parent and child both see, in slots: a picture's rows are sooner through it than through a
// pipe, which copies them page by page. The child writes to one slot after the other, round and round; the
// parent reads nothing from it but the bytes of a piece, into memory of its own.
class SharedSlots {
  public:
    static constexpr std::size_t slot_bytes = std::size_t{512} << 10U;
    static constexpr std::size_t count = 6;

    SharedSlots();
    ~SharedSlots();
    SharedSlots(const SharedSlots&) = delete;
    SharedSlots& operator=(const SharedSlots&) = delete;

    [[nodiscard]] bool there() const { return memory_ != nullptr; }
    // number: of all the slots used so far, from 0.
    [[nodiscard]] std::span<std::byte> slot(std::size_t number) const;

  private:
    void* memory_;
};

// The child's voice: words, and a bulk of bytes piece by piece, each on its way to the parent at once. Throws
// where nobody listens.
class ApartVoice {
  public:
    // pipe: for words. taken: where the parent sends a byte for every piece that it has taken.
    ApartVoice(int pipe, int taken, const SharedSlots& slots) : pipe_(pipe), taken_(taken), slots_(slots) {}

    // bulk_bytes: of the pieces that follow, in all.
    void say(std::span<const std::byte> words, std::size_t bulk_bytes = 0);
    void send(std::span<const std::byte> piece);
    // The same without a copy: room for the next piece, to be filled, and how much of it was. Waits for room.
    [[nodiscard]] std::span<std::byte> room();
    void send_room(std::size_t bytes);

  private:
    int pipe_;
    int taken_;
    const SharedSlots& slots_;
    std::size_t sent_ = 0;       // pieces
    std::size_t under_way_ = 0;  // of them, not known to be taken
};

enum class ApartEnd {
    done,
    not_started,  // no process to be had
    broke,        // ended by a limit, by a fault of its own, or with an answer that is none
};

struct ApartResult {
    ApartEnd end = ApartEnd::broke;
    std::vector<std::byte> words;  // all that were said, in order
};

// Runs work in the child and gives its words. A bulk goes into what `place` gives for it, by the words so far
// and how many bytes are still to come; a place for the next part of it is asked for when that part is there;
// an empty place refuses it. A bulk may break off with words that say why, never with the child's end.
// `meanwhile` runs here while the child works. An exception out of `work` breaks the child.
[[nodiscard]] ApartResult run_apart(
    const std::function<void(ApartVoice&)>& work, const ApartLimits& limits,
    const std::function<std::span<std::byte>(std::span<const std::byte> words, std::size_t bytes_left)>&
        place = {},
    const std::function<void()>& meanwhile = {});

}  // namespace frayhold::photo
