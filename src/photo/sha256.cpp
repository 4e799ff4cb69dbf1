// SPDX-License-Identifier: Apache-2.0
#include "photo/sha256.h"

#include <openssl/evp.h>

#include <array>
#include <fstream>
#include <new>
#include <vector>

#include "units/error.h"

namespace frayhold::photo {
namespace {

// OpenSSL's digest calls fail only where memory is short or the library is broken.
void must(int result) {
    if (result != 1) throw std::bad_alloc();
}

}  // namespace

void Sha256::Free::operator()(evp_md_ctx_st* context) const {
    EVP_MD_CTX_free(context);
}

Sha256::Sha256() : context_(EVP_MD_CTX_new()) {
    if (!context_) throw std::bad_alloc();
    start();
}

void Sha256::start() {
    must(EVP_DigestInit_ex(context_.get(), EVP_sha256(), nullptr));
}

void Sha256::add(std::span<const std::byte> bytes) {
    must(EVP_DigestUpdate(context_.get(), bytes.data(), bytes.size()));
}

std::string Sha256::hex() {
    std::array<unsigned char, 32> digest{};
    must(EVP_DigestFinal_ex(context_.get(), digest.data(), nullptr));
    start();
    constexpr std::string_view digits = "0123456789abcdef";
    std::string text;
    text.reserve(2 * digest.size());
    for (const unsigned char byte : digest) {
        text += digits[byte >> 4U];
        text += digits[byte & 15U];
    }
    return text;
}

std::string sha256_hex(std::span<const std::byte> bytes) {
    Sha256 sum;
    sum.add(bytes);
    return sum.hex();
}

std::string sha256_hex_of_file(const std::string& path) {
    std::ifstream file(path, std::ios::binary);
    Sha256 sum;
    std::vector<char> piece(1 << 16);
    while (file) {
        file.read(piece.data(), static_cast<std::streamsize>(piece.size()));
        sum.add(std::as_bytes(std::span(piece).first(static_cast<std::size_t>(file.gcount()))));
    }
    // A directory opens but does not read; only a file read to its end is a digest of the whole.
    if (!file.eof())
        throw Failure(Fault::input, path, "the file cannot be read", "check its name and permissions");
    return sum.hex();
}

}  // namespace frayhold::photo
