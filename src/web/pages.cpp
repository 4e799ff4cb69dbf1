// SPDX-License-Identifier: Apache-2.0
#include "web/pages.h"

#include <cctype>
#include <fstream>
#include <iterator>
#include <kainjow/mustache.hpp>
#include <nlohmann/json.hpp>

#include "language/speaking.h"
#include "language/tr.h"
#include "units/error.h"
#include "web/page_text.h"

namespace frayhold::web {
namespace {

namespace fs = std::filesystem;
using kainjow::mustache::data;
using kainjow::mustache::mustache;

std::string whole_text(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    std::string text((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
    if (!file.good() && !file.eof())
        throw Failure(Fault::outside, path.string(), "the file cannot be read", "install the program again");
    return text;
}

std::string type_of(const fs::path& path) {
    const std::string ending = path.extension().string();
    if (ending == ".css") return "text/css; charset=utf-8";
    if (ending == ".js") return "text/javascript; charset=utf-8";
    if (ending == ".svg") return "image/svg+xml";
    return "application/octet-stream";
}

// The double-quoted literal that begins at `from`; where there is none or it does not end, nothing.
std::string literal_at(const std::string& script, std::size_t from) {
    if (from >= script.size() || script[from] != '"') return "";
    for (std::size_t at = from + 1; at < script.size() && script[at] != '\n'; ++at) {
        if (script[at] == '\\')
            ++at;
        else if (script[at] == '"')
            return script.substr(from, at + 1 - from);
    }
    return "";
}

// The texts that a script hands to one of the functions of words.js.
std::vector<std::string> texts_of_script(const std::string& script) {
    std::vector<std::string> texts;
    for (const std::string_view call : {"tr(", "trf("}) {
        for (auto at = script.find(call); at != std::string::npos; at = script.find(call, at + 1)) {
            if (at > 0 && std::isalnum(static_cast<unsigned char>(script[at - 1])) != 0) continue;
            // Such a literal is written the same way in JSON.
            const auto text = nlohmann::json::parse(literal_at(script, at + call.size()), nullptr, false);
            if (text.is_string()) texts.push_back(text.get<std::string>());
        }
    }
    return texts;
}

data data_of(const nlohmann::json& json) {
    switch (json.type()) {
        case nlohmann::json::value_t::object: {
            data out{data::type::object};
            for (const auto& [key, value] : json.items()) out.set(key, data_of(value));
            return out;
        }
        case nlohmann::json::value_t::array: {
            data out{data::type::list};
            for (const nlohmann::json& value : json) out.push_back(data_of(value));
            return out;
        }
        case nlohmann::json::value_t::string:
            // An empty text is nothing to show, also to a section.
            return json.get_ref<const std::string&>().empty() ? data(false) : data(json.get<std::string>());
        case nlohmann::json::value_t::boolean:
            return data(json.get<bool>());
        case nlohmann::json::value_t::null:
            return data(false);
        default:
            return data(json.dump());
    }
}

}  // namespace

Pages::Pages(std::span<const fs::path> folders) {
    for (const fs::path& folder : folders) {
        if (!fs::is_directory(folder)) continue;
        for (const fs::directory_entry& entry : fs::directory_iterator(folder))
            if (entry.path().extension() == ".mustache")
                templates_[entry.path().stem().string()] = whole_text(entry.path());
        for (const fs::directory_entry& entry : fs::directory_iterator(folder / "assets"))
            if (entry.is_regular_file())
                assets_[entry.path().filename().string()] = {type_of(entry.path()), whole_text(entry.path())};
        for (const auto& [name, asset] : assets_)
            if (name.ends_with(".js"))
                for (std::string& text : texts_of_script(asset.content))
                    script_texts_.push_back(std::move(text));
        return;
    }
    throw Failure(Fault::outside, "templates/pages", "the pages are not there", "install the program again");
}

const std::string& Pages::form_of(const std::string& name) const {
    const std::string& english = templates_.at(name);
    if (language::spoken() == nullptr) return english;
    const std::lock_guard lock(mutex_);
    const auto [place, is_new] = translated_.try_emplace({language::spoken_name(), name});
    if (is_new)
        place->second = translated_page(english, [](const std::string& text) { return tr_word(text); });
    return place->second;
}

std::string Pages::words_of_scripts() const {
    if (language::spoken() == nullptr) return "";
    nlohmann::json words = nlohmann::json::object();
    for (const std::string& text : script_texts_)
        if (std::string translation = tr_word(text); translation != text)
            words[text] = std::move(translation);
    std::string block;
    for (const char c : words.dump()) {
        if (c == '<')
            block += "\\u003c";
        else
            block += c;
    }
    return block;
}

std::string Pages::bare(const std::string& name, const nlohmann::json& json) const {
    mustache form(form_of(name));
    if (!form.is_valid())
        throw Failure(Fault::outside, name + ".mustache", form.error_message(), "install the program again");
    data all = data_of(json);
    all.set("lang", language::spoken_name());
    return form.render(all);
}

std::string Pages::page(const std::string& name, const nlohmann::json& json) const {
    nlohmann::json around = json;
    around["content"] = bare(name, json);
    around["script_words"] = words_of_scripts();
    return bare("layout", around);
}

const Pages::Asset* Pages::asset(const std::string& name) const {
    const auto found = assets_.find(name);
    return found == assets_.end() ? nullptr : &found->second;
}

}  // namespace frayhold::web
