// SPDX-License-Identifier: Apache-2.0
#include "cli/whole_file.h"

#include <sys/resource.h>

#include <catch2/catch.hpp>
#include <csignal>
#include <string>

#include "program.h"
#include "units/error.h"

using frayhold::cli::read_whole_file;
using frayhold::cli::write_whole_file;

namespace {

std::vector<std::byte> bytes_of(const std::string& text) {
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

// No file of this process may grow beyond so many bytes while it lives: as on a full disk.
class FileSizeLimit {
  public:
    explicit FileSizeLimit(rlim_t bytes) {
        getrlimit(RLIMIT_FSIZE, &before_);
        old_handler_ = std::signal(SIGXFSZ, SIG_IGN);
        const rlimit limit{bytes, before_.rlim_max};
        REQUIRE(setrlimit(RLIMIT_FSIZE, &limit) == 0);
    }
    FileSizeLimit(const FileSizeLimit&) = delete;
    FileSizeLimit& operator=(const FileSizeLimit&) = delete;
    ~FileSizeLimit() {
        setrlimit(RLIMIT_FSIZE, &before_);
        std::signal(SIGXFSZ, old_handler_);
    }

  private:
    rlimit before_{};
    void (*old_handler_)(int) = SIG_DFL;
};

}  // namespace

TEST_CASE("a file is written whole, over an older one, and read back") {
    const program::Folder folder;
    const auto path = folder.file("out.bin");
    for (const std::string& text : {std::string("old"), std::string(), std::string(300'000, 'x')}) {
        write_whole_file(path, bytes_of(text));
        CHECK(read_whole_file(path) == bytes_of(text));
    }
    CHECK(folder.files() == std::vector<std::string>{"out.bin"});
}

TEST_CASE("where the disk is full the older file stays as it was and nothing else is left") {
    const program::Folder folder;
    folder.write("out.bin", "old");
    {
        const FileSizeLimit limit(1000);
        try {
            write_whole_file(folder.file("out.bin"), bytes_of(std::string(5000, 'x')));
            FAIL("no failure");
        } catch (const frayhold::Failure& failure) {
            CHECK(failure.error().fault == frayhold::Fault::outside);
        }
    }
    CHECK(folder.read("out.bin") == "old");
    CHECK(folder.files() == std::vector<std::string>{"out.bin"});
}

TEST_CASE("what cannot be read or written is said") {
    const program::Folder folder;
    CHECK_THROWS_AS(read_whole_file(folder.file("none")), frayhold::Failure);
    CHECK_THROWS_AS(read_whole_file(folder.path()), frayhold::Failure);
    CHECK_THROWS_AS(write_whole_file(folder.file("no/such/folder"), {}), frayhold::Failure);
    CHECK_THROWS_AS(write_whole_file(folder.path(), {}), frayhold::Failure);
    CHECK(folder.files().empty());
}
