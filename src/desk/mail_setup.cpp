// SPDX-License-Identifier: Apache-2.0
#include "desk/mail_setup.h"

#include "language/tr.h"
#include "post/reply_mail.h"

namespace frayhold::desk {

MessageSender sender_of(const std::shared_ptr<const post::MailAccount>& account) {
    return [account](const std::string& to, std::span<const std::byte> message,
                     const post::SmtpSteps& steps) {
        const std::string from = post::parse_reply(message, tr("the query")).from.address;
        if (from != account->from.address)
            throw Failure(Fault::input, account->file.string(),
                          trf("the query is from {}, and the account is {}'s", from, account->from.address),
                          "make the query anew with the account's address, or name the other account");
        return post::send_by_smtp(*account, {from, post::parse_mailbox(to, "to").address}, message, steps);
    };
}

ReplyFolder reply_folder_of(const std::shared_ptr<const post::MailAccount>& account) {
    return {post::folder_address(*account),
            [account](const post::FetchOrder& order, const std::function<void(post::FetchedMail)>& take) {
                post::fetch_by_imap(*account, order, take);
            }};
}

}  // namespace frayhold::desk
