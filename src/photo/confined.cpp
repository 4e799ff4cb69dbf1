// SPDX-License-Identifier: Apache-2.0
#include "photo/confined.h"

#include <fcntl.h>
#include <linux/seccomp.h>
#include <sched.h>
#include <seccomp.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <fstream>

namespace frayhold::photo {
namespace {

bool limit(int what, rlim_t most) {
    const rlimit value{most, most};
    return ::setrlimit(static_cast<__rlimit_resource_t>(what), &value) == 0;
}

#ifdef __SANITIZE_ADDRESS__
// AddressSanitizer reserves terabytes of addresses for its own use.
bool limit_memory(std::size_t more_bytes) {
    return more_bytes > 0;
}
#else
std::size_t held_bytes() {
    std::size_t pages = 0;
    std::ifstream("/proc/self/statm") >> pages;
    return pages * static_cast<std::size_t>(::sysconf(_SC_PAGESIZE));
}

bool limit_memory(std::size_t more_bytes) {
    return limit(RLIMIT_AS, held_bytes() + more_bytes);
}
#endif

bool allow(scmp_filter_ctx filter, int call) {
    return seccomp_rule_add(filter, SCMP_ACT_ALLOW, call, 0) == 0;
}

bool allow_opening_for_reading(scmp_filter_ctx filter) {
    constexpr auto writing = static_cast<scmp_datum_t>(O_WRONLY | O_RDWR | O_CREAT | O_TRUNC);
    return seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(openat), 1,
                            SCMP_A2(SCMP_CMP_MASKED_EQ, writing, 0)) == 0 &&
           seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(open), 1,
                            SCMP_A1(SCMP_CMP_MASKED_EQ, writing, 0)) == 0;
}

// Threads, no processes. What clone3 makes cannot be told from its registers: the C library falls back to
// clone where it is not there.
bool allow_threads(scmp_filter_ctx filter) {
    constexpr auto thread = static_cast<scmp_datum_t>(CLONE_THREAD);
    return seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(clone), 1,
                            SCMP_A0(SCMP_CMP_MASKED_EQ, thread, thread)) == 0 &&
           seccomp_rule_add(filter, SCMP_ACT_ERRNO(ENOSYS), SCMP_SYS(clone3), 0) == 0;
}

// What is not on the list fails as forbidden.
void filter_calls(int writable, bool may_read_files) {
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_ERRNO(EACCES));
    if (filter == nullptr) return;
    constexpr std::array plain{SCMP_SYS(read),
                               SCMP_SYS(pread64),
                               SCMP_SYS(readv),
                               SCMP_SYS(close),
                               SCMP_SYS(fstat),
                               SCMP_SYS(newfstatat),
                               SCMP_SYS(stat),
                               SCMP_SYS(lseek),
                               SCMP_SYS(mmap),
                               SCMP_SYS(munmap),
                               SCMP_SYS(mprotect),
                               SCMP_SYS(mremap),
                               SCMP_SYS(madvise),
                               SCMP_SYS(brk),
                               SCMP_SYS(futex),
                               SCMP_SYS(exit),
                               SCMP_SYS(exit_group),
                               SCMP_SYS(getrandom),
                               SCMP_SYS(clock_gettime),
                               SCMP_SYS(gettimeofday),
                               SCMP_SYS(getpid),
                               SCMP_SYS(gettid),
                               SCMP_SYS(rt_sigprocmask),
                               SCMP_SYS(rt_sigaction),
                               SCMP_SYS(rt_sigreturn),
                               SCMP_SYS(sigaltstack),
                               SCMP_SYS(sched_yield),
                               SCMP_SYS(access),
                               SCMP_SYS(readlink),
                               SCMP_SYS(restart_syscall),
                               SCMP_SYS(set_robust_list),
                               SCMP_SYS(rseq),
                               SCMP_SYS(sched_getaffinity)};
    bool made = true;
    for (const int call : plain) made = made && allow(filter, call);
    // A signal to itself alone, as abort() sends one.
    made = made && seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(tgkill), 1,
                                    SCMP_A0(SCMP_CMP_EQ, static_cast<scmp_datum_t>(::getpid()))) == 0;
    made = made && allow_threads(filter) && (!may_read_files || allow_opening_for_reading(filter));
    made = made && seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(write), 1,
                                    SCMP_A0(SCMP_CMP_EQ, static_cast<scmp_datum_t>(writable))) == 0;
    if (made) seccomp_load(filter);
    seccomp_release(filter);
}

}  // namespace

bool confine(int writable, const Confinement& limits) {
    ::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
    const bool limited = limit(RLIMIT_CORE, 0) && limit(RLIMIT_FSIZE, 0) &&
                         limit(RLIMIT_CPU, static_cast<rlim_t>(limits.processor.count())) &&
                         limit_memory(limits.memory_bytes);
    filter_calls(writable, limits.may_read_files);
    return limited;
}

bool can_filter_calls() {
    const unsigned action = SECCOMP_RET_ERRNO;
    return ::syscall(SYS_seccomp, SECCOMP_GET_ACTION_AVAIL, 0, &action) == 0;
}

}  // namespace frayhold::photo
