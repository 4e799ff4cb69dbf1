// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <string>

struct evp_md_ctx_st;  // OpenSSL's digest context, EVP_MD_CTX

namespace frayhold::photo {

// SHA-256 (FIPS 180-4) as 64 lower-case hex digits, the form sha256sum prints.
[[nodiscard]] std::string sha256_hex(std::span<const std::byte> bytes);

// The same over bytes that come in pieces.
class Sha256 {
  public:
    Sha256();

    void add(std::span<const std::byte> bytes);

    // The digest of all that was added; the object then starts anew.
    [[nodiscard]] std::string hex();

  private:
    struct Free {
        void operator()(evp_md_ctx_st* context) const;
    };
    void start();

    std::unique_ptr<evp_md_ctx_st, Free> context_;
};

// Of a file's content, read in pieces. Throws Failure (Fault::input) where it cannot be read.
[[nodiscard]] std::string sha256_hex_of_file(const std::string& path);

}  // namespace frayhold::photo
