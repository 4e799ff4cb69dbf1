// SPDX-License-Identifier: Apache-2.0
#include <turbojpeg.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <memory>
#include <opencv2/core.hpp>
#include <set>
#include <string>
#include <vector>

#include "render/demo_manifest.h"

namespace frayhold::render {
namespace {

const std::filesystem::path folder = std::filesystem::path(FRAYHOLD_SOURCE_DIR) / "demo-photos";

nlohmann::ordered_json stored_manifest() {
    std::ifstream in(folder / "manifest.json");
    REQUIRE(in);
    return nlohmann::ordered_json::parse(in);
}

std::vector<std::byte> bytes_of(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    REQUIRE(in);
    std::vector<std::byte> bytes;
    std::transform(std::istreambuf_iterator<char>(in), {}, std::back_inserter(bytes),
                   [](char c) { return static_cast<std::byte>(c); });
    return bytes;
}

cv::Mat decoded(const std::vector<std::byte>& bytes) {
    const std::unique_ptr<void, int (*)(void*)> decoder(tjInitDecompress(), tjDestroy);
    const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
    int width = 0;
    int height = 0;
    int sampling = 0;
    int space = 0;
    REQUIRE(tjDecompressHeader3(decoder.get(), data, bytes.size(), &width, &height, &sampling, &space) == 0);
    cv::Mat out(height, width, CV_8UC3);
    REQUIRE(tjDecompress2(decoder.get(), data, bytes.size(), out.data, width, static_cast<int>(out.step),
                          height, TJPF_BGR, 0) == 0);
    return out;
}

// Equal but for the last digits, which the mathematics library of another machine may give otherwise.
void check_alike(const nlohmann::ordered_json& a, const nlohmann::ordered_json& b, const std::string& where) {
    INFO(where);
    if (a.is_number_float() || b.is_number_float()) {
        CHECK(a.get<double>() == Approx(b.get<double>()).epsilon(1e-9).margin(1e-9));
    } else if (a.is_structured()) {
        REQUIRE(a.size() == b.size());
        for (const auto& [key, value] : a.items())
            check_alike(value, a.is_array() ? b.at(std::stoul(key)) : b.at(key), where + "/" + key);
    } else {
        CHECK(a == b);
    }
}

}  // namespace

TEST_CASE("The manifest tells what the demo scenes truly are") {
    auto fresh = manifest_head();
    for (const DemoPhoto& photo : demo_photos())
        fresh["photos"].push_back(manifest_entry(photo, truth_of(photo.scene)));
    check_alike(stored_manifest(), fresh, "manifest.json");
    CHECK(fresh.at("about").get<std::string>().find("rendered") != std::string::npos);
}

TEST_CASE("The demo photos are all there, at 12 megapixels, in under 12 MB") {
    std::uintmax_t total = 0;
    std::set<int> orientations;
    std::set<std::string> expectations;
    const auto manifest = stored_manifest();
    for (const auto& photo : manifest.at("photos")) {
        const auto path = folder / photo.at("file").get<std::string>();
        REQUIRE(std::filesystem::exists(path));
        total += std::filesystem::file_size(path);
        orientations.insert(photo.at("orientation").get<int>());
        expectations.insert(photo.at("expectation").get<std::string>());
        CHECK(photo.at("width_px").get<int>() * photo.at("height_px").get<int>() >= 12'000'000);
    }
    CHECK(manifest.at("photos").size() >= 10);
    CHECK(total < 12'000'000U);
    CHECK(orientations.size() == 8);
    CHECK(expectations == std::set<std::string>{"measured", "refused", "record_only"});
}

TEST_CASE("Both views of the frayed spot show the same damage") {
    const auto manifest = stored_manifest();
    const auto truth_in = [&](const std::string& file) {
        for (const auto& photo : manifest.at("photos"))
            if (photo.at("file") == file) return photo.at("truth");
        throw std::runtime_error(file + " is missing");
    };
    const auto near_side = truth_in("arbolane-fray-near-side.jpg");
    const auto far_side = truth_in("arbolane-fray-far-side.jpg");
    for (const char* name : {"sound_width", "fray_width", "fray_dense_width", "fray_length"})
        CHECK(near_side.at(name) == far_side.at(name));
    CHECK(near_side.at("card_corners_px") != far_side.at("card_corners_px"));
}

TEST_CASE("A stored demo photo can be made again") {
    for (const DemoPhoto& photo : demo_photos()) {
        if (photo.file != "white-rope-core.jpg") continue;
        const auto fresh = encode_jpeg(render(photo.scene).bgr, photo.quality, photo.exif);
        const cv::Mat stored = decoded(bytes_of(folder / photo.file));
        const cv::Mat again = decoded(fresh);
        REQUIRE(stored.size() == again.size());
        // The very bytes on one machine; on others up to the rounding of its mathematics library.
        CHECK(cv::norm(stored, again, cv::NORM_L1) / static_cast<double>(stored.total() * 3) < 0.05);
        return;
    }
    FAIL("white-rope-core.jpg is no demo photo");
}

}  // namespace frayhold::render
