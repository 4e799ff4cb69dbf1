// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <csignal>
#include <cstdint>
#include <thread>

namespace frayhold::testing {

// Starts child(acknowledged) in a process of its own and kills it after the pause; where `once_at_work`, the
// pause begins when it has done something, so that openings and doings are both hit. The child never returns,
// and writes a byte to the file descriptor for each thing that it was told is done. Gives the number of those
// bytes.
template <class Child>
std::int64_t kill_child(std::chrono::microseconds pause, bool once_at_work, const Child& child) {
    std::int64_t acknowledged = 0;
    int pipe_ends[2];
    REQUIRE(::pipe(pipe_ends) == 0);
    const pid_t process = ::fork();
    if (process == 0) {
        ::close(pipe_ends[0]);
        child(pipe_ends[1]);
    }
    ::close(pipe_ends[1]);
    char done = 0;
    if (once_at_work && ::read(pipe_ends[0], &done, 1) == 1) ++acknowledged;
    std::this_thread::sleep_for(pause);
    ::kill(process, SIGKILL);
    int status = 0;
    ::waitpid(process, &status, 0);
    CHECK(WIFSIGNALED(status));
    while (::read(pipe_ends[0], &done, 1) == 1) ++acknowledged;
    ::close(pipe_ends[0]);
    return acknowledged;
}

}  // namespace frayhold::testing
