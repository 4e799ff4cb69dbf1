// SPDX-License-Identifier: Apache-2.0
#include "photo/decode_apart.h"

#include <fcntl.h>
#include <sys/socket.h>
#include <unistd.h>

#include <atomic>
#include <catch2/catch.hpp>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <opencv2/core.hpp>
#include <thread>

namespace {

using namespace std::chrono_literals;
using frayhold::photo::ApartEnd;
using frayhold::photo::ApartLimits;
using frayhold::photo::ApartVoice;
using frayhold::photo::decode;
using frayhold::photo::decode_apart;
using frayhold::photo::run_apart;
using frayhold::photo::SharedSlots;

std::vector<std::byte> bytes_of(const std::string& text) {
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

std::vector<std::byte> file_bytes(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return bytes_of({std::istreambuf_iterator<char>(in), {}});
}

const std::filesystem::path demo = std::filesystem::path(FRAYHOLD_SOURCE_DIR) / "demo-photos";

ApartEnd end_of(const std::function<void(ApartVoice&)>& work, const ApartLimits& limits) {
    return run_apart(work, limits).end;
}

// What the child saw of the world.
std::string told_by(const std::function<int()>& call) {
    const auto result = run_apart(
        [&](ApartVoice& voice) {
            const int done = call();
            voice.say(bytes_of(done >= 0 ? "done" : errno == EACCES ? "forbidden" : "failed"));
        },
        {});
    return {reinterpret_cast<const char*>(result.words.data()), result.words.size()};
}

}  // namespace

TEST_CASE("A photo decoded apart is the photo decoded here") {
    const std::vector<std::byte> bytes = file_bytes(demo / "arbolane-fray-near-side.jpg");
    const auto here = decode(bytes, "near.jpg");
    const auto apart = decode_apart(bytes, "near.jpg");
    REQUIRE(here);
    REQUIRE(apart);
    CHECK(cv::norm(here->bgr, apart->bgr, cv::NORM_INF) == 0.0);
    CHECK(here->bgr.size() == apart->bgr.size());
    CHECK(apart->sha256 == here->sha256);
    CHECK(apart->format == "jpeg");
    CHECK(apart->exif.make == here->exif.make);
    CHECK(apart->exif.model == here->exif.model);
    CHECK(apart->exif.taken == here->exif.taken);
    CHECK(apart->exif.focal_35mm_mm == here->exif.focal_35mm_mm);
    CHECK(apart->exif.focal_mm == here->exif.focal_mm);
    CHECK(apart->exif.orientation == here->exif.orientation);
    CHECK(apart->exif.has_position == here->exif.has_position);
}

TEST_CASE("What the camera wrote is read apart, without the picture") {
    const std::vector<std::byte> bytes = file_bytes(demo / "arbolane-fray-near-side.jpg");
    const auto whole = decode(bytes, "near.jpg");
    // The picture itself need not be there.
    for (const std::size_t size : {bytes.size(), bytes.size() / 2}) {
        const auto facts = frayhold::photo::exif_facts_apart(std::span(bytes).first(size), "near.jpg");
        REQUIRE(facts);
        CHECK(facts->make == whole->exif.make);
        CHECK(facts->model == whole->exif.model);
        CHECK(facts->taken == whole->exif.taken);
        CHECK(facts->focal_35mm_mm == whole->exif.focal_35mm_mm);
        CHECK(facts->orientation == whole->exif.orientation);
    }
    const auto none = frayhold::photo::exif_facts_apart(bytes_of("no picture"), "a.jpg");
    REQUIRE(none);
    CHECK(none->make.empty());
}

TEST_CASE("What cannot be decoded is refused apart in the same words") {
    std::vector<std::byte> cut = file_bytes(demo / "arbolane-label.jpg");
    cut.resize(cut.size() / 2);
    for (const std::vector<std::byte>& bytes : {cut, bytes_of("no picture"), std::vector<std::byte>{}}) {
        const auto here = decode(bytes, "a.jpg");
        const auto apart = decode_apart(bytes, "a.jpg");
        REQUIRE_FALSE(here);
        REQUIRE_FALSE(apart);
        CHECK(apart.error().sentence() == here.error().sentence());
        CHECK(apart.error().fault == here.error().fault);
    }
}

TEST_CASE("The outgoing copy made apart has the same bytes") {
    const std::vector<std::byte> bytes = file_bytes(demo / "arbolane-label.jpg");
    const auto here = frayhold::photo::outgoing_copy(bytes, "a.jpg");
    const auto apart = frayhold::photo::outgoing_copy_apart(bytes, "a.jpg");
    REQUIRE(here);
    REQUIRE(apart);
    CHECK(apart->bytes == here->bytes);
    CHECK(apart->extension == here->extension);
    CHECK_FALSE(frayhold::photo::outgoing_copy_apart(bytes_of("x"), "a.jpg"));
}

TEST_CASE("The reader of a photo can read and write no file, reach no network and start no program") {
    CHECK(told_by([] { return ::open("/etc/passwd", O_RDONLY); }) == "forbidden");
    CHECK(told_by([] { return ::open("/tmp/frayhold-written", O_WRONLY | O_CREAT, 0600); }) == "forbidden");
    CHECK(told_by([] { return ::socket(AF_INET, SOCK_STREAM, 0); }) == "forbidden");
    CHECK(told_by([] { return ::socket(AF_UNIX, SOCK_STREAM, 0); }) == "forbidden");
    CHECK(told_by([] { return static_cast<int>(::write(STDOUT_FILENO, "x", 1)); }) == "forbidden");
    CHECK(told_by([] { return ::execl("/bin/true", "true", nullptr); }) == "forbidden");
    CHECK(told_by([] { return ::fork(); }) == "forbidden");
    const pid_t parent = ::getpid();
    CHECK(told_by([&] { return ::kill(parent, 0); }) == "forbidden");
    CHECK(told_by([&] { return ::tgkill(parent, parent, 0); }) == "forbidden");
#ifndef __SANITIZE_ADDRESS__
    // AddressSanitizer gives each thread a stack of its own for signals, by calls that the filter forbids.
    CHECK(told_by([] {
              std::atomic<int> seen{-1};
              std::thread([&] { seen = 0; }).join();
              return seen.load();
          }) == "done");
#endif
    CHECK_FALSE(std::filesystem::exists("/tmp/frayhold-written"));
    CHECK(frayhold::photo::can_filter_calls());
}

TEST_CASE("The usual limits are those that docs/limits.md names") {
    const ApartLimits usual = frayhold::photo::usual_apart_limits();
    CHECK(usual.child.memory_bytes == 12UL * 120'000'000 + (256UL << 20U));
    CHECK(usual.child.processor == 60s);
    CHECK(usual.clock == 90s);
    CHECK_FALSE(usual.child.may_read_files);
}

TEST_CASE("A reader of a photo that takes too long, too much or dies is told") {
    const ApartLimits tight{.child = {.memory_bytes = 64UL << 20U, .processor = 1s}, .clock = 2s};
    CHECK(end_of([](ApartVoice&) { std::abort(); }, tight) == ApartEnd::broke);
    CHECK(end_of([](ApartVoice&) { ::raise(SIGSEGV); }, tight) == ApartEnd::broke);
    CHECK(end_of(
              [](ApartVoice&) {
                  std::atomic<int> turns{0};
                  while (turns >= 0) turns = 1;
              },
              tight) == ApartEnd::broke);
    CHECK(end_of([](ApartVoice&) { throw std::runtime_error("x"); }, tight) == ApartEnd::broke);
    CHECK(end_of([](ApartVoice& voice) { voice.say(std::vector<std::byte>(1)); }, tight) == ApartEnd::done);
#ifndef __SANITIZE_ADDRESS__
    CHECK(end_of([](ApartVoice& voice) { voice.say(std::vector<std::byte>(200UL << 20U)); }, tight) ==
          ApartEnd::broke);
#endif
    SECTION("a picture, too") {
        const std::vector<std::byte> bytes = file_bytes(demo / "arbolane-label.jpg");
        ApartLimits hasty = frayhold::photo::usual_apart_limits();
        hasty.clock = 0s;
        const auto refused = decode_apart(bytes, "label.jpg", {}, hasty);
        REQUIRE_FALSE(refused);
        CHECK(
            refused.error().sentence() ==
            "label.jpg: reading it took too much time or memory, or broke the reader; take the photo again, "
            "or save it as a plain JPEG");
    }
}

TEST_CASE("A bulk comes in pieces into parts of any size, and is refused where it does not fit its place") {
    // More than all slots hold at once.
    std::vector<std::byte> bulk(2 * SharedSlots::count * SharedSlots::slot_bytes + 1000);
    for (std::size_t i = 0; i < bulk.size(); ++i) bulk[i] = static_cast<std::byte>(i % 251);
    std::vector<std::byte> room, all;
    const auto run = [&](std::size_t piece_bytes, std::size_t most_bytes) {
        all.clear();
        room.clear();
        const auto result = run_apart(
            [&](ApartVoice& voice) {
                voice.say(bytes_of("words"), bulk.size());
                for (std::span<const std::byte> left = bulk; !left.empty();) {
                    voice.send(left.first(std::min(piece_bytes, left.size())));
                    left = left.subspan(std::min(piece_bytes, left.size()));
                }
            },
            {},
            [&](std::span<const std::byte> words, std::size_t left) -> std::span<std::byte> {
                CHECK(words.size() == 5);
                all.insert(all.end(), room.begin(), room.end());
                CHECK(left == bulk.size() - all.size());
                room.assign(most_bytes > bulk.size() ? most_bytes : std::min(most_bytes, left), std::byte{0});
                return room;
            },
            // Long enough for the child to fill every slot and to wait.
            [] { std::this_thread::sleep_for(std::chrono::milliseconds(20)); });
        all.insert(all.end(), room.begin(), room.end());
        return result.end;
    };
    for (const std::size_t piece : {bulk.size(), std::size_t{70'001}})
        for (const std::size_t part : {bulk.size(), bulk.size() - 1, std::size_t{300'000}}) {
            CHECK(run(piece, part) == ApartEnd::done);
            CHECK(all == bulk);
        }
    CHECK(run(bulk.size(), bulk.size() + 1) == ApartEnd::broke);
    CHECK(run(bulk.size(), 0) == ApartEnd::broke);
}

TEST_CASE("A bulk may break off with words that say why, and not otherwise") {
    const std::vector<std::byte> piece(1000);
    std::vector<std::byte> room(2000);
    const auto place = [&](std::span<const std::byte>, std::size_t) { return std::span(room); };
    const auto run = [&](const std::function<void(ApartVoice&)>& work) { return run_apart(work, {}, place); };
    const auto explained = run([&](ApartVoice& voice) {
        voice.say(bytes_of("a picture, "), 2 * piece.size());
        voice.send(piece);
        voice.say(bytes_of("and its fault"));
    });
    CHECK(explained.end == ApartEnd::done);
    CHECK(explained.words == bytes_of("a picture, and its fault"));
    CHECK(run([&](ApartVoice& voice) {
              voice.say(bytes_of("a picture"), 2 * piece.size());
              voice.send(piece);
          }).end == ApartEnd::broke);
    CHECK(run([&](ApartVoice& voice) {
              voice.say(bytes_of("a picture"), 2 * piece.size());
              for (int i = 0; i < 3; ++i) voice.send(piece);
          }).end == ApartEnd::broke);
    CHECK(run([&](ApartVoice& voice) { voice.send(piece); }).end == ApartEnd::broke);
}

// Cut where most of its rows are there already: they must not pass for a picture.
TEST_CASE("A photo whose last rows are missing is refused apart as it is here") {
    std::vector<std::byte> cut = file_bytes(demo / "arbolane-fray-near-side.jpg");
    cut.resize(cut.size() - cut.size() / 20);
    const auto here = decode(cut, "a.jpg");
    const auto apart = decode_apart(cut, "a.jpg");
    REQUIRE_FALSE(here);
    REQUIRE_FALSE(apart);
    CHECK(apart.error().sentence() == here.error().sentence());
}
