// SPDX-License-Identifier: Apache-2.0
#include "post/confined.h"

#include <fcntl.h>
#include <seccomp.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <fstream>

namespace frayhold::post {
namespace {

bool limit(int what, rlim_t most) {
    const rlimit value{most, most};
    return ::setrlimit(static_cast<__rlimit_resource_t>(what), &value) == 0;
}

std::size_t held_bytes() {
    std::size_t pages = 0;
    std::ifstream("/proc/self/statm") >> pages;
    return pages * static_cast<std::size_t>(::sysconf(_SC_PAGESIZE));
}

bool limit_memory(std::size_t more_bytes) {
#ifdef __SANITIZE_ADDRESS__
    // AddressSanitizer reserves terabytes of addresses for its own use.
    return more_bytes > 0;
#else
    return limit(RLIMIT_AS, held_bytes() + more_bytes);
#endif
}

// What is not on the list fails as forbidden. Opening is for reading only: converting a mail's charset loads
// a table of the C library's.
void allow_only_reading(int writable) {
    scmp_filter_ctx filter = seccomp_init(SCMP_ACT_ERRNO(EACCES));
    if (filter == nullptr) return;
    constexpr std::array plain{
        SCMP_SYS(read),       SCMP_SYS(pread64),      SCMP_SYS(readv),          SCMP_SYS(close),
        SCMP_SYS(fstat),      SCMP_SYS(newfstatat),   SCMP_SYS(stat),           SCMP_SYS(lseek),
        SCMP_SYS(mmap),       SCMP_SYS(munmap),       SCMP_SYS(mprotect),       SCMP_SYS(mremap),
        SCMP_SYS(madvise),    SCMP_SYS(brk),          SCMP_SYS(futex),          SCMP_SYS(exit),
        SCMP_SYS(exit_group), SCMP_SYS(getrandom),    SCMP_SYS(clock_gettime),  SCMP_SYS(gettimeofday),
        SCMP_SYS(getpid),     SCMP_SYS(gettid),       SCMP_SYS(rt_sigprocmask), SCMP_SYS(rt_sigaction),
        SCMP_SYS(tgkill),     SCMP_SYS(rt_sigreturn), SCMP_SYS(sigaltstack),    SCMP_SYS(sched_yield),
        SCMP_SYS(access),     SCMP_SYS(readlink),     SCMP_SYS(restart_syscall)};
    bool made = true;
    for (const int call : plain) made = made && seccomp_rule_add(filter, SCMP_ACT_ALLOW, call, 0) == 0;
    constexpr auto writing = static_cast<scmp_datum_t>(O_WRONLY | O_RDWR | O_CREAT | O_TRUNC);
    made = made && seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(openat), 1,
                                    SCMP_A2(SCMP_CMP_MASKED_EQ, writing, 0)) == 0;
    made = made && seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(open), 1,
                                    SCMP_A1(SCMP_CMP_MASKED_EQ, writing, 0)) == 0;
    made = made && seccomp_rule_add(filter, SCMP_ACT_ALLOW, SCMP_SYS(write), 1,
                                    SCMP_A0(SCMP_CMP_EQ, static_cast<scmp_datum_t>(writable))) == 0;
    if (made) seccomp_load(filter);
    seccomp_release(filter);
}

}  // namespace

bool confine(int writable, std::size_t memory_bytes, std::chrono::seconds processor) {
    ::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0);
    ::prctl(PR_SET_DUMPABLE, 0, 0, 0, 0);
    const bool limited = limit(RLIMIT_CORE, 0) && limit(RLIMIT_FSIZE, 0) &&
                         limit(RLIMIT_CPU, static_cast<rlim_t>(processor.count())) &&
                         limit_memory(memory_bytes);
    allow_only_reading(writable);
    return limited;
}

}  // namespace frayhold::post
