// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

// What is asked and what is answered over HTTP, free of any HTTP library.
namespace frayhold::web {

struct UploadedFile {
    std::string file_name;
    std::string content;

    [[nodiscard]] std::span<const std::byte> bytes() const { return std::as_bytes(std::span(content)); }
};

// By which door a request came in.
enum class Door {
    bench,  // the loopback address of this machine
    net,    // the local network: only for paired phones
};

struct Request {
    std::string method;  // "GET" or "POST"
    std::string path;    // percent-decoded, without the query
    // Of the query and of a form alike; a field may come several times.
    std::multimap<std::string, std::string> fields;
    std::multimap<std::string, UploadedFile> files;
    std::string body;                            // of a POST that is no form
    std::map<std::string, std::string> headers;  // names in lower case
    Door door = Door::bench;
    std::string from;  // the address it came from

    // Empty where there is none.
    [[nodiscard]] std::string field(const std::string& name) const;
    [[nodiscard]] std::vector<std::string> all(const std::string& name) const;
    [[nodiscard]] std::string header(const std::string& name) const;
    [[nodiscard]] std::string cookie(std::string_view name) const;
    // The path's words between its slashes.
    [[nodiscard]] std::vector<std::string> words() const;
};

struct Answer {
    int status = 200;
    std::string type = "text/html; charset=utf-8";
    std::string body;
    std::multimap<std::string, std::string> headers;
    bool never_changes = false;  // the browser may keep it

    [[nodiscard]] static Answer page(std::string html, int status = 200);
    [[nodiscard]] static Answer json(std::string text, int status = 200);
    [[nodiscard]] static Answer bytes(std::string type, std::span<const std::byte> bytes);
    // A file to be saved, never opened by the browser itself, whatever it is.
    [[nodiscard]] static Answer download(const std::string& file_name, std::span<const std::byte> bytes);
    // To look at another page after something was done (303).
    [[nodiscard]] static Answer go_to(const std::string& path);
    [[nodiscard]] static Answer plain(int status, std::string sentence);
};

// As one word of a path or value of a query (RFC 3986, 2.1).
[[nodiscard]] std::string percent_encoded(std::string_view text);

}  // namespace frayhold::web
