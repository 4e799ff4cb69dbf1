// SPDX-License-Identifier: Apache-2.0
#include "web/exchange.h"

#include <fmt/format.h>

namespace frayhold::web {

std::string Request::field(const std::string& name) const {
    const auto found = fields.find(name);
    return found == fields.end() ? "" : found->second;
}

std::vector<std::string> Request::all(const std::string& name) const {
    std::vector<std::string> values;
    for (auto [at, end] = fields.equal_range(name); at != end; ++at) values.push_back(at->second);
    return values;
}

std::string Request::header(const std::string& name) const {
    const auto found = headers.find(name);
    return found == headers.end() ? "" : found->second;
}

std::string Request::cookie(std::string_view name) const {
    const std::string all_cookies = header("cookie");
    for (std::size_t at = 0; at < all_cookies.size();) {
        const std::size_t end = std::min(all_cookies.find(';', at), all_cookies.size());
        std::string_view one = std::string_view(all_cookies).substr(at, end - at);
        while (one.starts_with(' ')) one.remove_prefix(1);
        if (one.starts_with(name) && one.size() > name.size() && one[name.size()] == '=')
            return std::string(one.substr(name.size() + 1));
        at = end + 1;
    }
    return "";
}

std::vector<std::string> Request::words() const {
    std::vector<std::string> list;
    for (std::size_t at = 0; at < path.size();) {
        const std::size_t end = std::min(path.find('/', at), path.size());
        if (end > at) list.push_back(path.substr(at, end - at));
        at = end + 1;
    }
    return list;
}

Answer Answer::page(std::string html, int status) {
    Answer answer;
    answer.status = status;
    answer.body = std::move(html);
    return answer;
}

Answer Answer::json(std::string text, int status) {
    Answer answer = page(std::move(text), status);
    answer.type = "application/json";
    return answer;
}

Answer Answer::bytes(std::string type, std::span<const std::byte> bytes) {
    Answer answer;
    answer.type = std::move(type);
    answer.body.assign(reinterpret_cast<const char*>(bytes.data()), bytes.size());
    return answer;
}

Answer Answer::download(const std::string& file_name, std::span<const std::byte> given) {
    Answer answer = bytes("application/octet-stream", given);
    // RFC 6266 and RFC 8187: any name, in ASCII.
    answer.headers.emplace("Content-Disposition",
                           "attachment; filename*=UTF-8''" + percent_encoded(file_name));
    return answer;
}

Answer Answer::go_to(const std::string& path) {
    Answer answer;
    answer.status = 303;
    answer.headers.emplace("Location", path);
    return answer;
}

Answer Answer::plain(int status, std::string sentence) {
    Answer answer = page(std::move(sentence) + "\n", status);
    answer.type = "text/plain; charset=utf-8";
    return answer;
}

std::string percent_encoded(std::string_view text) {
    constexpr std::string_view unreserved =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~";
    std::string out;
    for (const char c : text) {
        if (unreserved.find(c) != std::string_view::npos)
            out += c;
        else
            out += fmt::format("%{:02X}", static_cast<unsigned char>(c));
    }
    return out;
}

}  // namespace frayhold::web
