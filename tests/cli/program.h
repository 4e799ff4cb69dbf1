// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>
#include <vector>

// The real program, run as a person runs it.
namespace program {

struct Ran {
    int exit_code = 0;
    std::string out;
    std::string err;
};

// Every fenced block of a document of this repository, "docs/post.md" say, in one language, one after
// another, as a reader would copy them. Fails where there is none.
[[nodiscard]] std::string blocks_of(const std::string& document, const std::string& language = "sh");

// A folder of its own, the working folder of every run, gone at the end.
class Folder {
  public:
    Folder();
    ~Folder();
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;

    [[nodiscard]] const std::filesystem::path& path() const { return path_; }
    [[nodiscard]] std::filesystem::path file(const std::string& name) const { return path_ / name; }
    void write(const std::string& name, const std::string& bytes) const;
    [[nodiscard]] std::string read(const std::string& name) const;
    // Every file below, by its path from here, sorted.
    [[nodiscard]] std::vector<std::string> files() const;

    // Runs "frayhold <words>" by the shell, with FRAYHOLD_STORE set to "store" in this folder.
    [[nodiscard]] Ran frayhold(const std::string& words) const;
    // Runs a line of shell with the program's folder first in PATH.
    [[nodiscard]] Ran shell(const std::string& line) const;

  private:
    std::filesystem::path path_;
};

}  // namespace program
