// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "fuzz/entries.h"

// What the fuzzer has found worth keeping, through the same entries as it, in every usual run.
namespace frayhold::fuzz {
namespace {

namespace fs = std::filesystem;

std::vector<std::byte> bytes_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

std::vector<fs::path> corpus_of(const Entry& entry) {
    const fs::path folder = fs::path(FRAYHOLD_SOURCE_DIR) / "tests" / "fuzz" / "corpus" / entry.name;
    std::vector<fs::path> files;
    for (const fs::directory_entry& file : fs::directory_iterator(folder)) files.push_back(file.path());
    std::sort(files.begin(), files.end());
    return files;
}

}  // namespace

TEST_CASE("Every entry takes its whole corpus, and every file of it cut short") {
    for (const Entry& entry : all_entries()) {
        const std::vector<fs::path> files = corpus_of(entry);
        INFO(entry.name);
        CHECK(files.size() >= 3);
        for (const fs::path& file : files) {
            INFO(file.filename().string());
            const std::vector<std::byte> bytes = bytes_of(file);
            entry.run(bytes);
            entry.run(Bytes(bytes).first(bytes.size() / 2));
        }
        entry.run({});
    }
    SUCCEED("nothing ended the process");
}

}  // namespace frayhold::fuzz
