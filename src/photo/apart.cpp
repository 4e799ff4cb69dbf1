// SPDX-License-Identifier: Apache-2.0
#include "photo/apart.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/uio.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdint>

namespace frayhold::photo {
namespace {

using Steady = std::chrono::steady_clock;

// What comes first through the pipe; the words follow.
struct Heading {
    std::uint64_t words_bytes = 0;
    std::uint64_t bulk_bytes = 0;
    std::uint64_t bulk_address = 0;  // in the child
};

constexpr char taken = 't';
constexpr char send_it = 's';

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

bool write_all(int file, std::span<const std::byte> bytes) {
    while (!bytes.empty()) {
        const ssize_t count = ::write(file, bytes.data(), bytes.size());
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0) return false;
        bytes = bytes.subspan(static_cast<std::size_t>(count));
    }
    return true;
}

std::span<const std::byte> bytes_of(const Heading& heading) {
    return std::as_bytes(std::span(&heading, 1));
}

// What else is open here, the store's files for one, is none of the child's business.
void close_all_but(int one, int other) {
    constexpr unsigned first = 3;
    const auto low = static_cast<unsigned>(std::min(one, other));
    const auto high = static_cast<unsigned>(std::max(one, other));
    if (low > first) ::close_range(first, low - 1, 0);
    if (high > low + 1) ::close_range(low + 1, high - 1, 0);
    ::close_range(high + 1, ~0U, 0);
}

// An exception that is caught nowhere else (no memory left, say) ends the child without a word.
[[noreturn]] void be_the_child(const std::function<ApartAnswer()>& work, const Confinement& limits,
                               int writable, int orders) {
    constexpr int failed_status = 1;
    try {
        if (!confine(writable, limits)) ::_exit(failed_status);
        const ApartAnswer answer = work();
        const Heading heading{answer.words.size(), answer.bulk.size(),
                              reinterpret_cast<std::uintptr_t>(answer.bulk.data())};
        if (!write_all(writable, bytes_of(heading)) || !write_all(writable, answer.words))
            ::_exit(failed_status);
        char order = taken;
        if (!answer.bulk.empty() && ::read(orders, &order, 1) != 1) ::_exit(failed_status);
        if (order == send_it && !write_all(writable, answer.bulk)) ::_exit(failed_status);
        ::_exit(0);
    } catch (...) {
        ::_exit(failed_status);
    }
}

// Fills all of `to`, or gives false where the child ends or the clock runs out first.
bool read_all(int readable, Steady::time_point until, std::span<std::byte> to) {
    while (!to.empty()) {
        const auto left =
            std::chrono::duration_cast<std::chrono::milliseconds>(until - Steady::now()).count();
        pollfd waiting{readable, POLLIN, 0};
        const int ready = left <= 0 ? 0 : ::poll(&waiting, 1, static_cast<int>(left));
        if (ready < 0 && errno == EINTR) continue;
        if (ready <= 0) return false;
        const ssize_t count = ::read(readable, to.data(), to.size());
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0) return false;
        to = to.subspan(static_cast<std::size_t>(count));
    }
    return true;
}

bool copy_from(pid_t child, std::uint64_t address, std::span<std::byte> to) {
    while (!to.empty()) {
        const iovec here{to.data(), to.size()};
        // An address in the child, never followed here.
        // NOLINTNEXTLINE(performance-no-int-to-ptr)
        const iovec there{reinterpret_cast<void*>(static_cast<std::uintptr_t>(address)), to.size()};
        const ssize_t count = ::process_vm_readv(child, &here, 1, &there, 1, 0);
        if (count <= 0) return false;
        address += static_cast<std::uint64_t>(count);
        to = to.subspan(static_cast<std::size_t>(count));
    }
    return true;
}

bool ended_well(pid_t child) {
    int status = 0;
    while (::waitpid(child, &status, 0) < 0)
        if (errno != EINTR) return false;
    return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

// The child as the parent holds it.
struct Child {
    pid_t process;
    int readable;
    int orders;
    Steady::time_point until;
};

using Place = std::function<std::span<std::byte>(std::span<const std::byte>, std::size_t)>;

// Part by part, straight out of the child's memory or, where the very first cannot be had so, through the
// pipe.
bool take_bulk(const Child& child, const Heading& heading, std::span<const std::byte> words,
               const Place& place) {
    bool by_pipe = false;
    for (std::uint64_t at = 0; at < heading.bulk_bytes;) {
        const std::size_t left = heading.bulk_bytes - at;
        const std::span<std::byte> to = place(words, left);
        if (to.empty() || to.size() > left) return false;
        if (!by_pipe && !copy_from(child.process, heading.bulk_address + at, to)) {
            if (at > 0 || ::write(child.orders, &send_it, 1) != 1) return false;
            by_pipe = true;
        }
        if (by_pipe && !read_all(child.readable, child.until, to)) return false;
        at += to.size();
    }
    return by_pipe || ::write(child.orders, &taken, 1) == 1;
}

bool listen_to(const Child& child, const ApartLimits& limits, const Place& place,
               std::vector<std::byte>& words) {
    Heading heading;
    if (!read_all(child.readable, child.until, std::as_writable_bytes(std::span(&heading, 1)))) return false;
    if (heading.words_bytes > limits.most_answer_bytes) return false;
    words.resize(heading.words_bytes);
    if (!read_all(child.readable, child.until, words)) return false;
    if (heading.bulk_bytes == 0) return true;
    return place && take_bulk(child, heading, words, place);
}

}  // namespace

ApartResult run_apart(const std::function<ApartAnswer()>& work, const ApartLimits& limits, const Place& place,
                      const std::function<void()>& meanwhile) {
    std::array<int, 2> answers{-1, -1};
    std::array<int, 2> orders{-1, -1};
    if (::pipe2(answers.data(), O_CLOEXEC) != 0) return {ApartEnd::not_started, {}};
    const Descriptor readable(answers[0]);
    Descriptor writable(answers[1]);
    if (::pipe2(orders.data(), O_CLOEXEC) != 0) return {ApartEnd::not_started, {}};
    const Descriptor order_reading(orders[0]);
    const Descriptor order_writing(orders[1]);
    const pid_t process = ::fork();
    if (process < 0) return {ApartEnd::not_started, {}};
    if (process == 0) {
        close_all_but(writable.number(), order_reading.number());
        be_the_child(work, limits.child, writable.number(), order_reading.number());
    }
    writable.close();

    const Child child{process, readable.number(), order_writing.number(), Steady::now() + limits.clock};
    if (meanwhile) meanwhile();
    ApartResult result;
    const bool heard = listen_to(child, limits, place, result.words);
    if (!heard) ::kill(process, SIGKILL);
    // The order's pipe must have a reader until the child is gone: no signal for a broken pipe.
    if (ended_well(process) && heard) result.end = ApartEnd::done;
    if (result.end != ApartEnd::done) result.words.clear();
    return result;
}

}  // namespace frayhold::photo
