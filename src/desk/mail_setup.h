// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "desk/posting.h"
#include "post/account.h"

// The post as it is carried: a person's mail account behind the outbox and the inbox.
namespace frayhold::desk {

// Sends from the account. A message whose sender is not the account's is not sent, and says so.
[[nodiscard]] MessageSender sender_of(const std::shared_ptr<const post::MailAccount>& account);

[[nodiscard]] ReplyFolder reply_folder_of(const std::shared_ptr<const post::MailAccount>& account);

}  // namespace frayhold::desk
