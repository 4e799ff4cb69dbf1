// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "language/tr.h"
#include "units/error.h"

// Reading the tables in templates: JSON files, each field held to its form. For the files of this folder
// only.
namespace frayhold::criteria {

using Json = nlohmann::json;

// One object of a table file, read field by field; a field nobody asked for is an error, so that a slip of
// the pen can't switch a criterion off.
class Fields {
  public:
    Fields(const Json& object, std::string file, std::string path)
        : object_(object), file_(std::move(file)), path_(std::move(path)) {
        if (!object.is_object())
            reject("", tr_later("is not an object"), tr_later("write it in braces, as the form says"));
    }

    // `what` and `mend` are marked by tr_later or made by trf.
    [[noreturn]] void reject(const std::string& field, const std::string& what,
                             const std::string& mend) const {
        std::string place = path_;
        if (!field.empty()) place += (place.empty() ? "" : ".") + field;
        const std::string said = place.empty() ? what : place + ": " + what;
        throw Failure(Fault::input, file_, said, mend);
    }

    const Json* optional(const std::string& field) {
        asked_.insert(field);
        const auto found = object_.find(field);
        return found == object_.end() ? nullptr : &*found;
    }

    const Json& required(const std::string& field) {
        const Json* value = optional(field);
        if (value == nullptr) reject(field, tr_later("is missing"), tr_later("add it"));
        return *value;
    }

    std::string text(const std::string& field) {
        const Json& value = required(field);
        if (!value.is_string() || value.get_ref<const std::string&>().empty())
            reject(field, tr_later("is not a text"), tr_later("write it in quotes, not empty"));
        return value.get<std::string>();
    }

    std::string optional_text(const std::string& field) {
        return optional(field) == nullptr ? std::string() : text(field);
    }

    // Lower-case words joined by underscores.
    std::string name(const std::string& field) {
        std::string value = text(field);
        if (value.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_") != std::string::npos)
            reject(field, trf("'{}' is not a name", value),
                   tr_later("use lower-case letters, digits and underscores"));
        return value;
    }

    const Json& list(const std::string& field) {
        const Json& value = required(field);
        if (!value.is_array())
            reject(field, tr_later("is not a list"), tr_later("write it in square brackets"));
        return value;
    }

    std::vector<std::string> texts(const std::string& field) {
        std::vector<std::string> values;
        for (const Json& each : list(field)) {
            if (!each.is_string())
                reject(field, tr_later("holds something that is not a text"),
                       tr_later("write each in quotes"));
            values.push_back(each.get<std::string>());
        }
        if (values.empty()) reject(field, tr_later("is empty"), tr_later("name at least one"));
        return values;
    }

    // One of a set of names, looked up by `find`, which gives an optional.
    template <class Find>
    auto one_of(const std::string& field, const Find& find) {
        const std::string value = text(field);
        const auto found = find(value);
        if (!found)
            reject(field, trf("'{}' is not known", value), tr_later("use one of the names in the form"));
        return *found;
    }

    void nothing_else() const {
        for (const auto& [field, value] : object_.items())
            if (!asked_.contains(field))
                reject(field, tr_later("is not a field of this form"), tr_later("check its spelling"));
    }

  private:
    const Json& object_;
    std::string file_;
    std::string path_;
    std::set<std::string> asked_;
};

// Throws Failure (Fault::input) naming the file and, where it is no JSON, the byte.
[[nodiscard]] Json read_json(const std::filesystem::path& path);

// Letters in lower case, runs of blanks as one, none at the ends: how a maker's name is compared.
[[nodiscard]] std::string folded(std::string_view text);

}  // namespace frayhold::criteria
