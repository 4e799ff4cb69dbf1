// SPDX-License-Identifier: Apache-2.0
#include "outside.h"

#include <sys/wait.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <stdexcept>

namespace frayhold::pack::test {

ScratchFolder::ScratchFolder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "frayhold-test-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no scratch folder");
    path_ = pattern;
}

ScratchFolder::~ScratchFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
}

std::filesystem::path ScratchFolder::write(const std::string& name,
                                           const std::vector<std::byte>& bytes) const {
    const std::filesystem::path path = path_ / name;
    std::ofstream file(path, std::ios::binary);
    file.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    if (!file.flush()) throw std::runtime_error("could not write " + path.string());
    return path;
}

Ran run(const std::string& command) {
    FILE* pipe = popen((command + " 2>&1").c_str(), "r");
    if (pipe == nullptr) throw std::runtime_error("could not run " + command);
    Ran ran;
    std::array<char, 4096> part{};
    std::size_t got = 0;
    while ((got = fread(part.data(), 1, part.size(), pipe)) > 0) ran.output.append(part.data(), got);
    const int status = pclose(pipe);
    ran.exit_code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return ran;
}

std::string quoted(const std::filesystem::path& path) {
    return "'" + path.string() + "'";
}

std::vector<std::byte> bytes_of(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    const std::string text((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
    const auto* from = reinterpret_cast<const std::byte*>(text.data());
    return {from, from + text.size()};
}

std::string text_of_pdf(const std::vector<std::byte>& pdf) {
    const ScratchFolder scratch;
    const Ran ran = run("pdftotext -layout " + quoted(scratch.write("it.pdf", pdf)) + " -");
    if (ran.exit_code != 0) throw std::runtime_error("pdftotext: " + ran.output);
    return ran.output;
}

}  // namespace frayhold::pack::test
