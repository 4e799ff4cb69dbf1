// SPDX-License-Identifier: Apache-2.0
#include "post/imap_response.h"

#include <algorithm>
#include <array>
#include <charconv>

#include "language/tr.h"
#include "post/mime_handles.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

// The count of a literal that the line ends with: 1234 for "... BODY[] {1234}".
std::optional<std::size_t> literal_at_end(std::string_view line) {
    if (!line.ends_with('}')) return std::nullopt;
    const std::size_t brace = line.rfind('{');
    if (brace == std::string_view::npos) return std::nullopt;
    std::size_t count = 0;
    const char* last = line.data() + line.size() - 1;
    const auto [end, fault] = std::from_chars(line.data() + brace + 1, last, count);
    if (fault != std::errc() || end != last) return std::nullopt;
    return count;
}

std::string upper(std::string_view text) {
    std::string out(text);
    std::transform(out.begin(), out.end(), out.begin(), g_ascii_toupper);
    return out;
}

std::string unquoted(std::string_view text) {
    std::string out;
    for (std::size_t i = 0; i < text.size() && text[i] != '"'; ++i) {
        if (text[i] == '\\' && i + 1 < text.size()) ++i;
        out += text[i];
    }
    return out;
}

}  // namespace

void ImapReader::fill() {
    constexpr std::size_t piece_bytes = 64UL * 1024;
    std::array<char, piece_bytes> piece;
    const std::size_t count = source_(piece);
    if (count == 0)
        throw Failure(Fault::outside, name_, "the connection ended before the answer did", "try again");
    held_.append(piece.data(), count);
}

std::string ImapReader::take(std::size_t count) {
    while (held_.size() < count) fill();
    std::string out = held_.substr(0, count);
    held_.erase(0, count);
    return out;
}

std::string ImapReader::take_line() {
    std::size_t end = held_.find('\n');
    for (; end == std::string::npos; end = held_.find('\n')) {
        if (held_.size() > limits_.max_line_bytes)
            throw Failure(Fault::outside, name_, "it sends lines that are too long",
                          "ask who runs the server");
        fill();
    }
    std::string line = take(end + 1);
    while (line.ends_with('\n') || line.ends_with('\r')) line.pop_back();
    return line;
}

ImapResponse ImapReader::next() {
    ImapResponse response;
    for (;;) {
        const std::string piece = take_line();
        response.line += piece;
        const std::optional<std::size_t> count = literal_at_end(piece);
        if (!count) return response;
        if (*count > limits_.max_literal_bytes || response.line.size() > limits_.max_line_bytes)
            throw Failure(Fault::outside, name_, "it sends more than a mail may hold",
                          "ask who runs the server");
        response.literals.push_back(take(*count));
    }
}

std::optional<std::uint32_t> number_behind(const ImapResponse& response, std::string_view word) {
    const std::string line = upper(response.line);
    for (std::size_t at = line.find(word); at != std::string::npos; at = line.find(word, at + 1)) {
        const bool begins = at > 0 && (line[at - 1] == '[' || line[at - 1] == '(' || line[at - 1] == ' ');
        const std::size_t from = at + word.size() + 1;
        if (!begins || from >= line.size() || line[from - 1] != ' ') continue;
        std::uint32_t value = 0;
        const auto [end, fault] = std::from_chars(line.data() + from, line.data() + line.size(), value);
        if (fault == std::errc()) return value;
    }
    return std::nullopt;
}

std::vector<std::uint32_t> searched_uids(const ImapResponse& response) {
    constexpr std::string_view head = "* SEARCH";
    std::vector<std::uint32_t> uids;
    if (!upper(response.line).starts_with(head)) return uids;
    const char* at = response.line.data() + head.size();
    const char* end = response.line.data() + response.line.size();
    while (at != end) {
        std::uint32_t uid = 0;
        const auto [behind, fault] = std::from_chars(at, end, uid);
        if (fault == std::errc()) uids.push_back(uid);
        at = fault == std::errc() ? behind : at + 1;
    }
    return uids;
}

std::optional<std::string> fetched_body(const ImapResponse& response) {
    constexpr std::string_view word = "BODY[] ";
    const std::size_t at = upper(response.line).find(word);
    if (at == std::string::npos) return std::nullopt;
    const std::string_view behind = std::string_view(response.line).substr(at + word.size());
    if (behind.starts_with('"')) return unquoted(behind.substr(1));
    if (!behind.starts_with('{') || response.literals.empty()) return std::nullopt;
    // Only this literal was asked for, but others may stand before it.
    const std::string_view before = std::string_view(response.line).substr(0, at);
    const auto turn = static_cast<std::size_t>(std::count(before.begin(), before.end(), '{'));
    if (turn >= response.literals.size()) return std::nullopt;
    return response.literals[turn];
}

std::string quoted_folder(const std::string& name) {
    const HeldText coded(g_convert(name.data(), static_cast<gssize>(name.size()), "UTF-7-IMAP", "UTF-8",
                                   nullptr, nullptr, nullptr));
    if (!coded)
        throw Failure(Fault::input, trf("folder “{}”", name), "its name cannot be sent", "name another");
    std::string out = "\"";
    for (const char* at = coded.get(); *at != '\0'; ++at) {
        if (*at == '"' || *at == '\\') out += '\\';
        out += *at;
    }
    return out + '"';
}

}  // namespace frayhold::post
