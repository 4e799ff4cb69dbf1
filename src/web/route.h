// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "web/task.h"
#include "web/visit.h"

namespace frayhold::web {

// What the signs of a route's path stand for in a request.
struct Taken {
    std::vector<std::string> words;  // each "*"
    std::vector<int> numbers;        // each "#"
    std::vector<std::string> rest;   // what "**" stands for
};

struct Route {
    std::string_view methods;  // "GET", "POST" or "GET POST"
    // "hold/*/photo/#/**": a sign "*" is any word, "#" a whole number, "**" at the end any further words.
    std::string_view path;
    Task task;
    Answer (*answer)(const Visit& visit, const Taken& taken);
};

// Every page there is, each with the task that it takes to be let in.
[[nodiscard]] std::span<const Route> routes();

// The answer of the first route that fits; 404 where none does, 403 where it is not for the visitor.
[[nodiscard]] Answer routed(const Visit& visit);

}  // namespace frayhold::web
