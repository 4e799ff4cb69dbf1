// SPDX-License-Identifier: Apache-2.0
#include "photo/apart.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdint>
#include <system_error>

namespace frayhold::photo {
namespace {

using Steady = std::chrono::steady_clock;

// Goes through the pipe before each of the child's utterances.
struct Heading {
    std::uint64_t words_bytes = 0;
    std::uint64_t bulk_bytes = 0;   // with words: to come
    std::uint64_t piece_bytes = 0;  // without
};

class Descriptor {
  public:
    explicit Descriptor(int number) : number_(number) {}
    ~Descriptor() { close(); }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;

    [[nodiscard]] int number() const { return number_; }
    void close() {
        if (number_ >= 0) ::close(number_);
        number_ = -1;
    }

  private:
    int number_;
};

void write_all(int file, std::span<const std::byte> bytes) {
    while (!bytes.empty()) {
        const ssize_t count = ::write(file, bytes.data(), bytes.size());
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0) throw std::system_error(errno, std::generic_category(), "pipe");
        bytes = bytes.subspan(static_cast<std::size_t>(count));
    }
}

void write_heading(int file, const Heading& heading) {
    write_all(file, std::as_bytes(std::span(&heading, 1)));
}

// What else is open here, the store's files for one, is none of the child's business.
void close_all_but(int one, int other) {
    unsigned from = 3;
    for (const int kept : {std::min(one, other), std::max(one, other)}) {
        const auto number = static_cast<unsigned>(kept);
        if (number > from) ::close_range(from, number - 1, 0);
        from = number + 1;
    }
    ::close_range(from, ~0U, 0);
}

// An exception that is caught nowhere else (no memory left, say) ends the child without a word.
[[noreturn]] void be_the_child(const std::function<void(ApartVoice&)>& work, const Confinement& limits,
                               int writable, int taken, const SharedSlots& slots) {
    constexpr int failed_status = 1;
    try {
        if (!confine(writable, limits)) ::_exit(failed_status);
        ApartVoice voice(writable, taken, slots);
        work(voice);
        ::_exit(0);
    } catch (...) {
        ::_exit(failed_status);
    }
}

// Reads up to all of `to`: less where the child ends or the clock runs out first.
std::size_t read_up_to(int readable, Steady::time_point until, std::span<std::byte> to) {
    std::size_t in = 0;
    while (in < to.size()) {
        const auto left =
            std::chrono::duration_cast<std::chrono::milliseconds>(until - Steady::now()).count();
        pollfd waiting{readable, POLLIN, 0};
        const int ready = left <= 0 ? 0 : ::poll(&waiting, 1, static_cast<int>(left));
        if (ready < 0 && errno == EINTR) continue;
        if (ready <= 0) break;
        const ssize_t count = ::read(readable, to.data() + in, to.size() - in);
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0) break;
        in += static_cast<std::size_t>(count);
    }
    return in;
}

bool ended_well(pid_t child) {
    int status = 0;
    while (::waitpid(child, &status, 0) < 0)
        if (errno != EINTR) return false;
    return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

using Place = std::function<std::span<std::byte>(std::span<const std::byte>, std::size_t)>;

// Hears the child to its end.
class Listening {
  public:
    Listening(int readable, int taken, const SharedSlots& slots, const ApartLimits& limits,
              const Place& place)
        : readable_(readable),
          taken_(taken),
          slots_(slots),
          limits_(limits),
          place_(place),
          until_(Steady::now() + limits.clock) {}

    // False where it says more than it may or breaks off.
    [[nodiscard]] bool hear(std::vector<std::byte>& words) {
        for (;;) {
            Heading heading;
            const std::size_t in =
                read_up_to(readable_, until_, std::as_writable_bytes(std::span(&heading, 1)));
            if (in == 0) return bulk_left_ == 0 && Steady::now() < until_;
            if (in < sizeof heading) return false;
            if (heading.piece_bytes > 0) {
                if (!take_piece(heading.piece_bytes, words)) return false;
                continue;
            }
            if (heading.words_bytes > limits_.most_answer_bytes - words.size()) return false;
            const std::size_t before = words.size();
            words.resize(before + heading.words_bytes);
            if (!read_all(std::span(words).subspan(before))) return false;
            bulk_left_ = heading.bulk_bytes;
            room_ = {};
        }
    }

  private:
    bool read_all(std::span<std::byte> to) { return read_up_to(readable_, until_, to) == to.size(); }

    bool take_piece(std::size_t bytes, std::span<const std::byte> words) {
        if (bytes > bulk_left_ || bytes > SharedSlots::slot_bytes || !place_) return false;
        std::span<const std::byte> piece = slots_.slot(pieces_++).first(bytes);
        while (!piece.empty()) {
            if (room_.empty()) room_ = place_(words, bulk_left_);
            if (room_.empty() || room_.size() > bulk_left_) return false;
            const auto part = piece.first(std::min(piece.size(), room_.size()));
            std::copy(part.begin(), part.end(), room_.begin());
            room_ = room_.subspan(part.size());
            piece = piece.subspan(part.size());
            bulk_left_ -= part.size();
        }
        // A child that does not want to know has no room left, no more.
        const std::byte told{1};
        static_cast<void>(::send(taken_, &told, 1, MSG_NOSIGNAL | MSG_DONTWAIT));
        return true;
    }

    int readable_;
    int taken_;
    const SharedSlots& slots_;
    const ApartLimits& limits_;
    const Place& place_;
    Steady::time_point until_;
    std::size_t pieces_ = 0;
    std::size_t bulk_left_ = 0;
    std::span<std::byte> room_;  // for the next of it
};

}  // namespace

SharedSlots::SharedSlots()
    : memory_(
          ::mmap(nullptr, slot_bytes * count, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0)) {
    if (memory_ == MAP_FAILED) memory_ = nullptr;
}

SharedSlots::~SharedSlots() {
    if (there()) ::munmap(memory_, slot_bytes * count);
}

std::span<std::byte> SharedSlots::slot(std::size_t number) const {
    return {static_cast<std::byte*>(memory_) + number % count * slot_bytes, slot_bytes};
}

void ApartVoice::say(std::span<const std::byte> words, std::size_t bulk_bytes) {
    write_heading(pipe_, {words.size(), bulk_bytes, 0});
    write_all(pipe_, words);
}

void ApartVoice::send(std::span<const std::byte> piece) {
    while (!piece.empty()) {
        const std::span<std::byte> to = room();
        const auto part = piece.first(std::min(piece.size(), to.size()));
        std::copy(part.begin(), part.end(), to.begin());
        send_room(part.size());
        piece = piece.subspan(part.size());
    }
}

std::span<std::byte> ApartVoice::room() {
    while (under_way_ == SharedSlots::count) {
        std::array<std::byte, SharedSlots::count> told{};
        const ssize_t taken = ::read(taken_, told.data(), told.size());
        if (taken < 0 && errno == EINTR) continue;
        if (taken <= 0) throw std::system_error(errno, std::generic_category(), "pipe");
        under_way_ -= static_cast<std::size_t>(taken);
    }
    return slots_.slot(sent_);
}

void ApartVoice::send_room(std::size_t bytes) {
    if (bytes == 0) return;
    ++sent_;
    ++under_way_;
    write_heading(pipe_, {0, 0, bytes});
}

ApartResult run_apart(const std::function<void(ApartVoice&)>& work, const ApartLimits& limits,
                      const Place& place, const std::function<void()>& meanwhile) {
    const SharedSlots slots;
    std::array<int, 2> words{-1, -1}, taken{-1, -1};
    if (!slots.there() || ::pipe2(words.data(), O_CLOEXEC) != 0) return {ApartEnd::not_started, {}};
    const Descriptor readable(words[0]);
    Descriptor writable(words[1]);
    if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, taken.data()) != 0)
        return {ApartEnd::not_started, {}};
    const Descriptor telling(taken[0]);
    Descriptor told(taken[1]);
    const pid_t process = ::fork();
    if (process < 0) return {ApartEnd::not_started, {}};
    if (process == 0) {
        close_all_but(writable.number(), told.number());
        be_the_child(work, limits.child, writable.number(), told.number(), slots);
    }
    writable.close();
    told.close();

    Listening listening(readable.number(), telling.number(), slots, limits, place);
    if (meanwhile) meanwhile();
    ApartResult result;
    const bool heard = listening.hear(result.words);
    if (!heard) ::kill(process, SIGKILL);
    if (ended_well(process) && heard) result.end = ApartEnd::done;
    if (result.end != ApartEnd::done) result.words.clear();
    return result;
}

}  // namespace frayhold::photo
