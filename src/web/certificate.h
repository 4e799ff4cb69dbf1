// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <openssl/types.h>

#include <filesystem>
#include <memory>
#include <string>

namespace frayhold::web {

// A certificate that this machine made for itself, by which a phone's browser can keep others from listening
// once a person has compared the fingerprint.
class Certificate {
  public:
    // Reads it from the folder, or makes a new one there (EC P-256, good for two years) where there is none,
    // where it ends within a month or where it is for another address. The key's file is readable by its
    // owner only. Throws Failure (Fault::outside) where that cannot be done.
    [[nodiscard]] static Certificate kept_in(const std::filesystem::path& folder, const std::string& address);

    // SHA-256 of the certificate, "3A:5F:…", as browsers show it.
    [[nodiscard]] std::string fingerprint() const;

    [[nodiscard]] X509* certificate() const { return certificate_.get(); }
    [[nodiscard]] EVP_PKEY* key() const { return key_.get(); }

  private:
    Certificate(std::shared_ptr<X509> certificate, std::shared_ptr<EVP_PKEY> key)
        : certificate_(std::move(certificate)), key_(std::move(key)) {}
    [[nodiscard]] static Certificate made_for(const std::string& address);

    std::shared_ptr<X509> certificate_;
    std::shared_ptr<EVP_PKEY> key_;
};

}  // namespace frayhold::web
