// SPDX-License-Identifier: Apache-2.0
#include "program.h"

#include <sys/wait.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <iterator>

namespace fs = std::filesystem;

namespace program {
namespace {

std::string content(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

}  // namespace

std::string blocks_of(const std::string& document, const std::string& language) {
    const std::string text = content(fs::path(FRAYHOLD_SOURCE_DIR) / document);
    const std::string fence = "```" + language + "\n";
    std::string blocks;
    for (std::size_t at = text.find(fence); at != std::string::npos; at = text.find(fence, at)) {
        at += fence.size();
        const std::size_t to = text.find("```", at);
        REQUIRE(to != std::string::npos);
        blocks += text.substr(at, to - at);
        at = to;
    }
    REQUIRE_FALSE(blocks.empty());
    return blocks;
}

Folder::Folder() {
    std::string shape = (fs::temp_directory_path() / "frayhold-cli-XXXXXX").string();
    REQUIRE(mkdtemp(shape.data()) != nullptr);
    path_ = shape;
}

Folder::~Folder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
}

void Folder::write(const std::string& name, const std::string& bytes) const {
    std::ofstream out(file(name), std::ios::binary);
    out << bytes;
    REQUIRE(out.flush());
}

std::string Folder::read(const std::string& name) const {
    REQUIRE(fs::exists(file(name)));
    return content(file(name));
}

std::vector<std::string> Folder::files() const {
    std::vector<std::string> names;
    for (const auto& entry : fs::recursive_directory_iterator(path_))
        if (entry.is_regular_file()) names.push_back(fs::relative(entry.path(), path_).string());
    std::sort(names.begin(), names.end());
    return names;
}

Ran Folder::frayhold(const std::string& words) const {
    return shell("frayhold " + words);
}

Ran Folder::shell(const std::string& line) const {
    // The two streams go beside the folder, so that files() shows only what the program wrote.
    const std::string out = path_.string() + ".out";
    const std::string err = path_.string() + ".err";
    const std::string script = path_.string() + ".sh";
    std::ofstream(script) << "cd '" << path_.string() << "'\nexport PATH='"
                          << fs::path(FRAYHOLD_PROGRAM).parent_path().string()
                          << "':$PATH FRAYHOLD_STORE=store LC_ALL=C.UTF-8\nunset FRAYHOLD_BY FRAYHOLD_FROM\n"
                          << line << '\n';
    const int status = std::system(("bash '" + script + "' >'" + out + "' 2>'" + err + "'").c_str());
    const Ran ran{WIFEXITED(status) ? WEXITSTATUS(status) : -1, content(out), content(err)};
    for (const std::string& file : {out, err, script}) fs::remove(file);
    return ran;
}

}  // namespace program
