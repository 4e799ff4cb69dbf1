// SPDX-License-Identifier: Apache-2.0
#include "post/curl_handle.h"

#include <fmt/format.h>

#include <mutex>

#include "language/later.h"
#include "units/error.h"

namespace frayhold::post {

CurlHandle curl_for(const MailAccount& account, const MailServer& server, const std::string& scheme,
                    const std::string& path) {
    static std::once_flag started;
    std::call_once(started, [] { curl_global_init(CURL_GLOBAL_DEFAULT); });
    CurlHandle handle(curl_easy_init());
    if (!handle)
        throw Failure(Fault::outside, server.host, "the connection could not be prepared",
                      "free some memory");
    const auto set = [&](CURLoption option, auto value) { curl_easy_setopt(handle.get(), option, value); };
    const std::string schemes = scheme + (server.tls == Tls::from_start ? "s" : "");
    const std::string url = fmt::format("{}://{}:{}/{}", schemes, server.host, server.port, path);
    set(CURLOPT_URL, url.c_str());
    set(CURLOPT_PROTOCOLS_STR, schemes.c_str());
    set(CURLOPT_PROXY, "");
    set(CURLOPT_NOSIGNAL, 1L);
    set(CURLOPT_USE_SSL, static_cast<long>(CURLUSESSL_ALL));
    set(CURLOPT_SSLVERSION, static_cast<long>(CURL_SSLVERSION_TLSv1_2));
    set(CURLOPT_SSL_VERIFYPEER, 1L);
    constexpr long name_must_match = 2;
    set(CURLOPT_SSL_VERIFYHOST, name_must_match);
    if (!account.ca_file.empty()) {
        set(CURLOPT_CAINFO, account.ca_file.c_str());
        set(CURLOPT_CAPATH, static_cast<const char*>(nullptr));
    }
    if (!server.user.empty()) {
        set(CURLOPT_USERNAME, server.user.c_str());
        set(CURLOPT_PASSWORD, password_of(account, server).c_str());
    }
    return handle;
}

bool is_account_fault(CURLcode code) {
    switch (code) {
        case CURLE_LOGIN_DENIED:
        case CURLE_AUTH_ERROR:
        case CURLE_USE_SSL_FAILED:
        case CURLE_PEER_FAILED_VERIFICATION:
        case CURLE_SSL_CACERT_BADFILE:
        case CURLE_SSL_CIPHER:
        case CURLE_SSL_ISSUER_ERROR:
            return true;
        default:
            return false;
    }
}

std::string words_for(CURLcode code) {
    switch (code) {
        case CURLE_LOGIN_DENIED:
        case CURLE_AUTH_ERROR:
            return tr_later("the server refused the user or the password");
        case CURLE_USE_SSL_FAILED:
            return tr_later("the server offers no TLS");
        case CURLE_PEER_FAILED_VERIFICATION:
            return tr_later("the server's certificate is not to be trusted");
        case CURLE_SSL_CACERT_BADFILE:
            return tr_later("the file of trusted certificates cannot be read");
        case CURLE_COULDNT_RESOLVE_HOST:
            return tr_later("there is no machine of that name, or no network");
        case CURLE_COULDNT_CONNECT:
            return tr_later("the server does not answer");
        case CURLE_OPERATION_TIMEDOUT:
            return tr_later("the server took too long");
        default:
            return fmt::format("{}: {}", tr_later("the connection broke"), curl_easy_strerror(code));
    }
}

}  // namespace frayhold::post
