// SPDX-License-Identifier: Apache-2.0
// Prints the texts of pages and rule tables for the translators, as a gettext template.
// Usage: frayhold_template_texts FILE.mustache|FILE.json...
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "web/page_text.h"

namespace {

std::string quoted(const std::string& text) {
    std::string out = "\"";
    for (const char c : text) {
        if (c == '"' || c == '\\') out += '\\';
        if (c == '\n')
            out += "\\n";
        else
            out += c;
    }
    return out + '"';
}

// The fields of a rule table that are shown to a person.
void collect(const nlohmann::json& json, std::vector<std::string>& texts) {
    static const std::set<std::string> shown{"words", "source", "title"};
    if (!json.is_structured()) return;
    for (const auto& [key, value] : json.items()) {
        if (json.is_object() && value.is_string() && shown.contains(key))
            texts.push_back(value.get<std::string>());
        collect(value, texts);
    }
}

std::vector<std::string> texts_of(const std::string& content, bool is_page) {
    if (is_page) return frayhold::web::page_texts(content);
    std::vector<std::string> texts;
    collect(nlohmann::json::parse(content), texts);
    return texts;
}

using FilesByText = std::map<std::string, std::set<std::string>>;

void add_texts(const std::filesystem::path& path, FilesByText& files_by_text) {
    std::ifstream file(path, std::ios::binary);
    const std::string content((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
    if (content.empty()) throw std::runtime_error("the file cannot be read");
    for (const std::string& text : texts_of(content, path.extension() == ".mustache"))
        if (!text.empty()) files_by_text[text].insert(path.filename().string());
}

}  // namespace

int main(int argc, char** argv) {
    FilesByText files_by_text;
    for (int i = 1; i < argc; ++i) {
        try {
            add_texts(argv[i], files_by_text);
        } catch (const std::exception& fault) {
            std::cerr << argv[i] << ": " << fault.what() << '\n';
            return 3;
        }
    }
    std::cout << "msgid \"\"\nmsgstr \"Content-Type: text/plain; charset=UTF-8\\n\"\n";
    for (const auto& [text, files] : files_by_text) {
        std::cout << '\n';
        for (const std::string& file : files) std::cout << "#: templates/" << file << '\n';
        std::cout << "msgid " << quoted(text) << "\nmsgstr \"\"\n";
    }
    return 0;
}
