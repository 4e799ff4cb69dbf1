// SPDX-License-Identifier: Apache-2.0
#include "python_reading.h"

#include <unistd.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <sstream>
#include <stdexcept>

namespace frayhold::post::test {

std::vector<std::byte> bytes_of(std::string_view text) {
    const auto* from = reinterpret_cast<const std::byte*>(text.data());
    return {from, from + text.size()};
}

std::string text_of(const std::vector<std::byte>& bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

std::vector<std::byte> read_file(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    if (!file) throw std::runtime_error("cannot read " + path.string());
    return bytes_of(std::string((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>()));
}

std::vector<nlohmann::json> read_by_python(const std::vector<std::filesystem::path>& files) {
    std::string command = FRAYHOLD_PYTHON " '" FRAYHOLD_SOURCE_DIR "/tests/post/read_mail.py'";
    for (const auto& file : files) command += " '" + file.string() + "'";
    FILE* pipe = popen(command.c_str(), "r");
    if (pipe == nullptr) throw std::runtime_error("could not start Python");
    std::string output;
    std::array<char, 65536> part{};
    std::size_t got = 0;
    while ((got = fread(part.data(), 1, part.size(), pipe)) > 0) output.append(part.data(), got);
    if (pclose(pipe) != 0) throw std::runtime_error("read_mail.py failed");
    std::vector<nlohmann::json> all;
    std::istringstream lines(output);
    for (std::string line; std::getline(lines, line);) all.push_back(nlohmann::json::parse(line));
    if (all.size() != files.size()) throw std::runtime_error("read_mail.py left out a file");
    return all;
}

nlohmann::json read_by_python(const std::vector<std::byte>& message) {
    std::string name = (std::filesystem::temp_directory_path() / "frayhold-mail-XXXXXX").string();
    const int descriptor = mkstemp(name.data());
    if (descriptor < 0) throw std::runtime_error("no scratch file");
    close(descriptor);
    std::ofstream(name, std::ios::binary)
        .write(reinterpret_cast<const char*>(message.data()), static_cast<std::streamsize>(message.size()));
    const auto all = read_by_python({std::filesystem::path(name)});
    std::filesystem::remove(name);
    return all.front();
}

}  // namespace frayhold::post::test
