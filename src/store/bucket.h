// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include "store/originals.h"

namespace frayhold::store {

// Where a bucket is and who asks.
struct BucketPlace {
    std::string url;     // "https://objects.example/gear/originals", without an ending slash
    std::string region;  // of the signature
    std::string key;     // "id:secret"
};

// From "https://HOST/BUCKET[/FOLDER][?region=REGION]" (us-east-1 where none is named) and a file of one line,
// "id:secret", that nobody but its owner may read. Failure (Fault::usage or input): another form; plain http
// to another machine; a file that others may read.
[[nodiscard]] bool is_bucket_address(const std::string& words);
[[nodiscard]] BucketPlace bucket_place(const std::string& address, const std::filesystem::path& key_file);

// Originals as objects of any service that speaks the S3 REST protocol: FOLDER/ab/abcdef… holds the bytes
// whose SHA-256 is abcdef…. Each request is signed by AWS signature version 4 with the SHA-256 of its body,
// so that the service itself refuses bytes that changed on their way. A request that the service could not
// serve is tried again twice. An object is kept once the service has said so.
class Bucket : public Originals {
  public:
    explicit Bucket(BucketPlace place);
    ~Bucket() override;

    std::string keep(std::span<const std::byte> bytes) override;
    [[nodiscard]] std::vector<std::byte> read(const std::string& sha256) const override;
    [[nodiscard]] Condition condition(const std::string& sha256) const override;
    [[nodiscard]] std::string place_of(const std::string& sha256) const override;
    [[nodiscard]] std::vector<std::string> list() const override;

    // Whether a store keeps its originals here: an object "frayhold-originals" says so.
    [[nodiscard]] bool is_marked() const;
    void mark();

  private:
    class Line;
    void put(const std::string& place, std::span<const std::byte> bytes);

    BucketPlace place_;
    std::unique_ptr<Line> line_;
};

}  // namespace frayhold::store
