// SPDX-License-Identifier: Apache-2.0
#include "photo/apart.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
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
void close_all_but(int kept) {
    constexpr unsigned first = 3;
    const auto number = static_cast<unsigned>(kept);
    if (number > first) ::close_range(first, number - 1, 0);
    ::close_range(number + 1, ~0U, 0);
}

// An exception that is caught nowhere else (no memory left, say) ends the child without a word.
[[noreturn]] void be_the_child(const std::function<void(ApartVoice&)>& work, const Confinement& limits,
                               int writable) {
    constexpr int failed_status = 1;
    try {
        if (!confine(writable, limits)) ::_exit(failed_status);
        ApartVoice voice(writable);
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
    Listening(int readable, const ApartLimits& limits, const Place& place)
        : readable_(readable), limits_(limits), place_(place), until_(Steady::now() + limits.clock) {}

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
        if (bytes > bulk_left_ || !place_) return false;
        while (bytes > 0) {
            if (room_.empty()) room_ = place_(words, bulk_left_);
            if (room_.empty() || room_.size() > bulk_left_) return false;
            const auto part = room_.first(std::min(bytes, room_.size()));
            if (!read_all(part)) return false;
            room_ = room_.subspan(part.size());
            bulk_left_ -= part.size();
            bytes -= part.size();
        }
        return true;
    }

    int readable_;
    const ApartLimits& limits_;
    const Place& place_;
    Steady::time_point until_;
    std::size_t bulk_left_ = 0;
    std::span<std::byte> room_;  // for the next of it
};

}  // namespace

void ApartVoice::say(std::span<const std::byte> words, std::size_t bulk_bytes) {
    write_heading(pipe_, {words.size(), bulk_bytes, 0});
    write_all(pipe_, words);
}

void ApartVoice::send(std::span<const std::byte> piece) {
    if (piece.empty()) return;
    write_heading(pipe_, {0, 0, piece.size()});
    write_all(pipe_, piece);
}

ApartResult run_apart(const std::function<void(ApartVoice&)>& work, const ApartLimits& limits,
                      const Place& place, const std::function<void()>& meanwhile) {
    std::array<int, 2> ends{-1, -1};
    if (::pipe2(ends.data(), O_CLOEXEC) != 0) return {ApartEnd::not_started, {}};
    const Descriptor readable(ends[0]);
    Descriptor writable(ends[1]);
    // As much as the system allows anybody: the child works on while a piece is taken.
    constexpr int roomy_bytes = 1 << 20;
    static_cast<void>(::fcntl(writable.number(), F_SETPIPE_SZ, roomy_bytes));
    const pid_t process = ::fork();
    if (process < 0) return {ApartEnd::not_started, {}};
    if (process == 0) {
        close_all_but(writable.number());
        be_the_child(work, limits.child, writable.number());
    }
    writable.close();

    Listening listening(readable.number(), limits, place);
    if (meanwhile) meanwhile();
    ApartResult result;
    const bool heard = listening.hear(result.words);
    if (!heard) ::kill(process, SIGKILL);
    if (ended_well(process) && heard) result.end = ApartEnd::done;
    if (result.end != ApartEnd::done) result.words.clear();
    return result;
}

}  // namespace frayhold::photo
