// SPDX-License-Identifier: Apache-2.0
#include "store/blobs.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <csignal>
#include <fstream>

#include "record/temp_folder.h"
#include "store/failure_of.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;
using testing::failure_of;
using testing::TempFolder;

std::vector<std::byte> bytes_of(const std::string& text) {
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

std::size_t files_in(const fs::path& folder) {
    std::size_t count = 0;
    for (const auto& entry : fs::recursive_directory_iterator(folder))
        count += entry.is_regular_file() ? 1 : 0;
    return count;
}

// FIPS 180-4's example message "abc" and its digest (from the standard's example values).
const std::string abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

}  // namespace

TEST_CASE("Bytes are kept once under their SHA-256, read-only") {
    const TempFolder folder;
    Blobs blobs(folder.path() / "originals");
    CHECK(blobs.keep(bytes_of("abc")) == abc);
    CHECK(blobs.keep(bytes_of("abc")) == abc);
    const fs::path file = folder.path() / "originals" / "ba" / abc;
    CHECK(blobs.path_of(abc) == file);
    CHECK(blobs.read(abc) == bytes_of("abc"));
    CHECK(blobs.list() == std::vector<std::string>{abc});
    struct stat facts {};
    REQUIRE(::stat(file.c_str(), &facts) == 0);
    CHECK((facts.st_mode & 0777) == 0444);
    CHECK(files_in(folder.path()) == 1);
}

TEST_CASE("No bytes are bytes too, and large ones") {
    const TempFolder folder;
    Blobs blobs(folder.path());
    const std::string none = blobs.keep({});
    CHECK(blobs.read(none).empty());
    std::vector<std::byte> large(5'000'001);
    for (std::size_t i = 0; i < large.size(); ++i) large[i] = static_cast<std::byte>(i * 7919 >> 8);
    CHECK(blobs.read(blobs.keep(large)) == large);
    CHECK(blobs.list().size() == 2);
}

TEST_CASE("A kept file that is missing or altered is told") {
    const TempFolder folder;
    Blobs blobs(folder.path());
    CHECK(blobs.condition(abc) == Blobs::Condition::missing);
    CHECK(failure_of([&] { static_cast<void>(blobs.read(abc)); }).what == "the kept file is missing");
    blobs.keep(bytes_of("abc"));
    CHECK(blobs.condition(abc) == Blobs::Condition::sound);
    fs::permissions(blobs.path_of(abc), fs::perms::owner_all);
    std::ofstream(blobs.path_of(abc)) << "abd";
    CHECK(blobs.condition(abc) == Blobs::Condition::altered);
    const Error altered = failure_of([&] { static_cast<void>(blobs.read(abc)); });
    CHECK(altered.what == "the kept file was altered: its SHA-256 is another");
    CHECK(altered.fault == Fault::outside);
}

TEST_CASE("The right bytes mend a kept file that was altered") {
    const TempFolder folder;
    Blobs blobs(folder.path());
    blobs.keep(bytes_of("abc"));
    fs::remove(blobs.path_of(abc));
    std::ofstream(blobs.path_of(abc)) << "ab";
    blobs.keep(bytes_of("abc"));
    CHECK(blobs.read(abc) == bytes_of("abc"));
}

TEST_CASE("Only a SHA-256 leads to a file") {
    const TempFolder folder;
    const Blobs blobs(folder.path());
    for (const std::string& wrong : {std::string(), std::string("../../etc/passwd"), std::string(64, 'G'),
                                     std::string(63, 'a'), std::string(65, 'a'), std::string(64, 'A')})
        CHECK(failure_of([&] { static_cast<void>(blobs.path_of(wrong)); }).fault == Fault::input);
}

TEST_CASE("What a killed process left is swept, what another writes is not") {
    const TempFolder folder;
    { const Blobs made(folder.path()); }
    std::ofstream(folder.path() / "incoming" / "123-left") << "half";
    std::ofstream(folder.path() / "incoming" / "124-busy") << "half";
    const int busy = ::open((folder.path() / "incoming" / "124-busy").c_str(), O_RDWR | O_CLOEXEC);
    REQUIRE(::flock(busy, LOCK_EX) == 0);
    const Blobs again(folder.path());
    CHECK_FALSE(fs::exists(folder.path() / "incoming" / "123-left"));
    CHECK(fs::exists(folder.path() / "incoming" / "124-busy"));
    CHECK(again.list().empty());
    ::close(busy);
    const Blobs once_more(folder.path());
    CHECK_FALSE(fs::exists(folder.path() / "incoming" / "124-busy"));
}

// Root may write anywhere, so these use what fails for root too: a path under a regular file, and a limit on
// the size of files, which fails a write half-way as a full disk does.
TEST_CASE("A folder that cannot be made is told") {
    const TempFolder folder;
    std::ofstream(folder.path() / "file") << "x";
    const Error error = failure_of([&] { const Blobs blobs(folder.path() / "file" / "originals"); });
    CHECK(error.fault == Fault::outside);
    CHECK(error.what.find("the folder cannot be made") == 0);
}

TEST_CASE("A write that fails half-way leaves nothing") {
    const TempFolder folder;
    Blobs blobs(folder.path());
    const pid_t child = ::fork();
    if (child == 0) {
        std::signal(SIGXFSZ, SIG_IGN);
        const rlimit limit{100'000, 100'000};
        ::setrlimit(RLIMIT_FSIZE, &limit);
        int outcome = 1;
        try {
            blobs.keep(std::vector<std::byte>(1'000'000, std::byte{7}));
        } catch (const Failure& failure) {
            const bool told = failure.error().fault == Fault::outside &&
                              failure.error().mend == "make room on the disk and try again";
            outcome = told ? 0 : 2;
        }
        ::_exit(outcome);
    }
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    CHECK(WIFEXITED(status));
    CHECK(WEXITSTATUS(status) == 0);
    CHECK(files_in(folder.path()) == 0);
}

}  // namespace frayhold::store
