// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <curl/curl.h>

#include <memory>
#include <string>

#include "post/account.h"

// What sending and fetching share in their use of libcurl. For the .cpp files of this folder only.
namespace frayhold::post {

struct ReleaseCurl {
    void operator()(CURL* handle) const { curl_easy_cleanup(handle); }
    void operator()(curl_slist* list) const { curl_slist_free_all(list); }
};
using CurlHandle = std::unique_ptr<CURL, ReleaseCurl>;
using CurlList = std::unique_ptr<curl_slist, ReleaseCurl>;

// A handle for one of the account's servers: TLS 1.2 or newer or no connection at all, certificate and host
// name checked, no proxy, no redirection, no settings of the user's from elsewhere. `scheme` is "smtp" or
// "imap"; `path` follows the host. Throws Failure (Fault::input) where the password is not to be had.
[[nodiscard]] CurlHandle curl_for(const MailAccount& account, const MailServer& server,
                                  const std::string& scheme, const std::string& path);

// Whether what libcurl reports is a matter of the account (its certificate, login or TLS), so that trying
// again soon does no good.
[[nodiscard]] bool is_account_fault(CURLcode code);

// What went wrong, in English: it is kept with a try, and tr_recorded shows it.
[[nodiscard]] std::string words_for(CURLcode code);

}  // namespace frayhold::post
