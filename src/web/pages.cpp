// SPDX-License-Identifier: Apache-2.0
#include "web/pages.h"

#include <fstream>
#include <iterator>
#include <kainjow/mustache.hpp>
#include <nlohmann/json.hpp>

#include "units/error.h"

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
        return;
    }
    throw Failure(Fault::outside, "templates/pages", "the pages are not there", "install the program again");
}

std::string Pages::bare(const std::string& name, const nlohmann::json& json) const {
    mustache form(templates_.at(name));
    if (!form.is_valid())
        throw Failure(Fault::outside, name + ".mustache", form.error_message(), "install the program again");
    return form.render(data_of(json));
}

std::string Pages::page(const std::string& name, const nlohmann::json& json) const {
    nlohmann::json around = json;
    around["content"] = bare(name, json);
    return bare("layout", around);
}

const Pages::Asset* Pages::asset(const std::string& name) const {
    const auto found = assets_.find(name);
    return found == assets_.end() ? nullptr : &found->second;
}

}  // namespace frayhold::web
