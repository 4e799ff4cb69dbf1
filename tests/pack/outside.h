// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

// What the tests of this folder need to ask independent programs about the bytes we made.
namespace frayhold::pack::test {

// A folder of its own that goes when the object does.
class ScratchFolder {
  public:
    ScratchFolder();
    ~ScratchFolder();
    ScratchFolder(const ScratchFolder&) = delete;
    ScratchFolder& operator=(const ScratchFolder&) = delete;

    [[nodiscard]] const std::filesystem::path& path() const { return path_; }
    // Writes the bytes under the name and returns the whole path.
    std::filesystem::path write(const std::string& name, const std::vector<std::byte>& bytes) const;

  private:
    std::filesystem::path path_;
};

struct Ran {
    int exit_code = 0;
    std::string output;  // standard output and standard error
};

// Runs a shell command and waits for it.
[[nodiscard]] Ran run(const std::string& command);

[[nodiscard]] std::string quoted(const std::filesystem::path& path);
[[nodiscard]] std::vector<std::byte> bytes_of(const std::filesystem::path& path);

// By poppler's pdftotext, pages parted by form feeds.
[[nodiscard]] std::string text_of_pdf(const std::vector<std::byte>& pdf);

}  // namespace frayhold::pack::test
