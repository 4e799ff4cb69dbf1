// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

// The form of what an IMAP server says (RFC 9051, 4 and 7), as far as fetching needs it.
namespace frayhold::post {

// One response. Literals ("{1234}" and then so many bytes) stand apart, so that nothing a mail holds can be
// taken for the server's words.
struct ImapResponse {
    std::string line;  // without its line end; a literal is left as its "{1234}"
    std::vector<std::string> literals;

    // "A1 OK ..." with this tag.
    [[nodiscard]] bool is_tagged(std::string_view tag) const {
        return line.starts_with(std::string(tag) + " ");
    }
};

struct ImapLimits {
    std::size_t max_line_bytes = 64UL * 1024;
    std::size_t max_literal_bytes = 60'000'000;
};

// Gives up to as many bytes as the room holds; 0 where the connection has ended.
using ImapSource = std::function<std::size_t(std::span<char> room)>;

// Takes responses off a source one by one. Throws Failure (Fault::outside): the source ends within a
// response, or a line or literal passes its limit.
class ImapReader {
  public:
    ImapReader(ImapSource source, std::string name, const ImapLimits& limits = {})
        : source_(std::move(source)), name_(std::move(name)), limits_(limits) {}

    [[nodiscard]] ImapResponse next();

  private:
    void fill();
    [[nodiscard]] std::string take_line();
    [[nodiscard]] std::string take(std::size_t count);

    ImapSource source_;
    std::string name_;
    ImapLimits limits_;
    std::string held_;  // read and not yet taken
};

// The number behind a word in brackets or parentheses: 12 for "UIDVALIDITY" in "* OK [UIDVALIDITY 12] ...".
[[nodiscard]] std::optional<std::uint32_t> number_behind(const ImapResponse& response, std::string_view word);

// The UIDs of "* SEARCH 4 7 9"; empty for another response.
[[nodiscard]] std::vector<std::uint32_t> searched_uids(const ImapResponse& response);

// What stands behind BODY[] in a FETCH response, as a literal or between quotation marks; empty where it does
// not stand there.
[[nodiscard]] std::optional<std::string> fetched_body(const ImapResponse& response);

// A folder's name as a quoted string in modified UTF-7 (RFC 3501, 5.1.3), which every server knows.
[[nodiscard]] std::string quoted_folder(const std::string& name);

}  // namespace frayhold::post
