// SPDX-License-Identifier: Apache-2.0
#include "photo/sha256.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <span>
#include <string>

#include "samples.h"
#include "units/error.h"

namespace {

std::span<const std::byte> bytes_of(const std::string& text) {
    return std::as_bytes(std::span(text));
}

}  // namespace

// FIPS 180-4 examples, "SHA-256 one block" and "two blocks", and the digest of nothing, as in the
// standard's published example file; sha256sum of GNU coreutils prints the same.
TEST_CASE("SHA-256 gives the digests of the standard's examples") {
    using frayhold::photo::sha256_hex;
    CHECK(sha256_hex({}) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    CHECK(sha256_hex(bytes_of("abc")) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(sha256_hex(bytes_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")) ==
          "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}

TEST_CASE("SHA-256 in pieces equals SHA-256 at once, and the object can be used again") {
    const std::string text(100'003, 'x');
    frayhold::photo::Sha256 sum;
    for (int round = 0; round < 2; ++round) {
        for (std::size_t at = 0; at < text.size(); at += 977) sum.add(bytes_of(text.substr(at, 977)));
        CHECK(sum.hex() == frayhold::photo::sha256_hex(bytes_of(text)));
    }
}

TEST_CASE("SHA-256 of a file is that of its bytes; a folder or a missing file is an error") {
    const samples::Folder folder;
    const std::string path = folder.file("some.bin");
    const std::string text(200'000, 'y');
    samples::write(path, bytes_of(text));
    CHECK(frayhold::photo::sha256_hex_of_file(path) == frayhold::photo::sha256_hex(bytes_of(text)));
    std::filesystem::remove(path);
    CHECK_THROWS_AS(frayhold::photo::sha256_hex_of_file(path), frayhold::Failure);
    CHECK_THROWS_AS(frayhold::photo::sha256_hex_of_file(folder.path()), frayhold::Failure);
}
