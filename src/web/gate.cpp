// SPDX-License-Identifier: Apache-2.0
#include "web/gate.h"

#include <fmt/format.h>
#include <openssl/crypto.h>
#include <openssl/rand.h>

#include <algorithm>
#include <array>

#include "language/tr.h"
#include "units/error.h"

namespace frayhold::web {

std::string new_secret() {
    std::array<unsigned char, 32> bytes{};
    if (RAND_bytes(bytes.data(), static_cast<int>(bytes.size())) != 1)
        throw Failure(Fault::outside, "", "the system gives no random numbers", "start the machine again");
    std::string hex;
    for (const unsigned char byte : bytes) hex += fmt::format("{:02x}", byte);
    return hex;
}

bool same_secret(const std::string& a, const std::string& b) {
    return a.size() == b.size() && CRYPTO_memcmp(a.data(), b.data(), a.size()) == 0;
}

Gate::Gate(DoorNames bench, DoorNames net) : bench_(std::move(bench)), net_(std::move(net)) {}

std::optional<Answer> Gate::refusal_of_host(const Request& request) const {
    const DoorNames& door = names(request.door);
    const std::string host = request.header("host");
    if (std::find(door.hosts.begin(), door.hosts.end(), host) == door.hosts.end())
        return Answer::plain(421,
                             tr("This address is not Frayhold's: use the one it printed when it started."));
    if (request.method == "GET") return std::nullopt;
    if (request.method != "POST") return Answer::plain(405, tr("Frayhold knows only GET and POST."));

    const std::string origin = request.header("origin");
    if (!origin.empty() && origin != door.scheme + "://" + host)
        return Answer::plain(403, tr("This form comes from another site and was not sent on."));
    const std::string site = request.header("sec-fetch-site");
    if (!site.empty() && site != "same-origin")
        return Answer::plain(403, tr("This form comes from another site and was not sent on."));
    return std::nullopt;
}

std::optional<Answer> Gate::refusal_of_stranger(const Request& request) {
    if (request.method != "POST") return std::nullopt;
    constexpr std::size_t most_digits = 4;
    const std::string length = request.header("content-length");
    if (length.empty() || !request.header("transfer-encoding").empty())
        return Answer::plain(411, tr("The form must say how long it is."));
    if (length.size() > most_digits) return Answer::plain(413, tr("The form is too long."));
    return std::nullopt;
}

bool Gate::has_bench_cookie(const Request& request) const {
    return same_secret(request.cookie(bench_cookie), cookie_);
}

std::optional<Answer> Gate::refusal_of_post(const Request& request) const {
    if (request.method != "POST") return std::nullopt;
    std::string given = request.header("x-frayhold-token");
    if (given.empty()) given = request.field("token");
    const bool has_cookie = request.door == Door::net || has_bench_cookie(request);
    if (!same_secret(given, token_) || !has_cookie)
        return Answer::plain(403,
                             tr("This page is from before Frayhold was started anew: go back, reload it and "
                                "send it again. Nothing was changed."));
    return std::nullopt;
}

std::string Gate::bench_cookie_line() const {
    return fmt::format("{}={}; Path=/; HttpOnly; SameSite=Strict", bench_cookie, cookie_);
}

}  // namespace frayhold::web
