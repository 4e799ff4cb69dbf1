// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "post/account.h"
#include "units/date.h"

namespace frayhold::post {

// How far a folder has been read. A server that gives its messages other UIDs changes the validity (RFC 9051,
// 2.3.1.1): then the folder is read anew.
struct FolderMark {
    std::uint32_t uid_validity = 0;
    std::uint32_t last_uid = 0;

    bool operator==(const FolderMark&) const = default;
};

struct FetchedMail {
    FolderMark mark;               // the folder is read up to and with this mail
    std::vector<std::byte> bytes;  // as the server has it; empty where it is too large
    std::size_t size_bytes = 0;    // as the server says
};

struct FetchOrder {
    std::optional<FolderMark> read_up_to{};
    Date since{};  // mails that came to the folder before this day are passed over
    std::size_t most_bytes = 60'000'000;
};

// Reads the account's folder and hands over every mail that came behind `read_up_to`, in the folder's order.
// The folder is opened by EXAMINE and mails are fetched by BODY.PEEK[]: nothing is deleted, flagged or marked
// as read, and no other folder is looked into. What `take` throws ends the fetching and is thrown on. Throws
// Failure: Fault::input for an account that cannot fetch, a password that is not to be had, or a folder that
// is not there; Fault::outside where the server or the way to it fails.
void fetch_by_imap(const MailAccount& account, const FetchOrder& order,
                   const std::function<void(FetchedMail)>& take,
                   std::chrono::seconds patience = std::chrono::seconds(60));

// "imaps://ida@mail.korreltrees.example:993/Gear": by which a store remembers its mark.
[[nodiscard]] std::string folder_address(const MailAccount& account);

}  // namespace frayhold::post
