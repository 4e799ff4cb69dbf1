// SPDX-License-Identifier: Apache-2.0
#include "post/mailbox.h"

#include <algorithm>

#include "language/later.h"
#include "post/characters.h"
#include "post/mime_handles.h"
#include "units/error.h"

namespace frayhold::post {
namespace {

// Letters, digits and the signs of RFC 5322's atoms, dots between them, one @, and UTF-8 beyond ASCII (RFC
// 6532).
bool plain_address(std::string_view address) {
    const std::size_t at = address.find('@');
    if (at == std::string_view::npos || at == 0 || at + 1 == address.size() ||
        address.find('@', at + 1) != std::string_view::npos)
        return false;
    constexpr std::size_t longest_address = 254;  // RFC 5321, 4.5.3.1.3, less the angle brackets
    if (address.size() > longest_address || address.front() == '.' || address.back() == '.' ||
        address.find("..") != std::string_view::npos || address[at - 1] == '.' || address[at + 1] == '.')
        return false;
    constexpr std::string_view signs = "!#$%&'*+-/=?^_`{|}~.@";
    return std::all_of(address.begin(), address.end(), [&](char c) {
        const auto byte = static_cast<unsigned char>(c);
        return byte >= 0x80 || (byte >= '0' && byte <= '9') || (byte >= 'A' && byte <= 'Z') ||
               (byte >= 'a' && byte <= 'z') || signs.find(c) != std::string_view::npos;
    });
}

}  // namespace

Mailbox parse_mailbox(std::string_view text, const std::string& field) {
    const auto refuse = [&](const char* what) -> Failure {
        return {Fault::input, field, what,
                tr_later("write it like “gear@maker.example” or “Gear desk <gear@maker.example>”")};
    };
    const bool control = std::any_of(
        text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
    if (control) throw refuse("the address holds a line break or another control character");
    start_mime();
    const Held<InternetAddressList> list(internet_address_list_parse(nullptr, std::string(text).c_str()));
    if (!list || internet_address_list_length(list.get()) != 1)
        throw refuse("there must be exactly one address");
    InternetAddress* one = internet_address_list_get_address(list.get(), 0);
    if (!INTERNET_ADDRESS_IS_MAILBOX(one)) throw refuse("it names a group, not an address");
    Mailbox mailbox{valid_text(internet_address_get_name(one)),
                    valid_text(internet_address_mailbox_get_addr(INTERNET_ADDRESS_MAILBOX(one)))};
    // GMime stops at the first complete address; anything behind it would be lost without a word.
    std::string_view end = text;
    while (end.ends_with(' ') || end.ends_with('>')) end.remove_suffix(1);
    if (!plain_address(mailbox.address) || !end.ends_with(mailbox.address))
        throw refuse("it is not a complete address");
    return mailbox;
}

std::string to_text(const Mailbox& mailbox) {
    return mailbox.name.empty() ? mailbox.address : mailbox.name + " <" + mailbox.address + ">";
}

}  // namespace frayhold::post
