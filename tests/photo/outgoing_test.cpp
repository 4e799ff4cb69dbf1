// SPDX-License-Identifier: Apache-2.0
// What other programs find in an outgoing copy: ExifTool (libimage-exiftool-perl), djpeg
// (libjpeg-turbo-progs) and Pillow (python3-pil), all from Debian.
#include "photo/outgoing.h"

#include <fmt/format.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <set>

#include "photo/encode.h"
#include "photo/photo.h"
#include "samples.h"

using frayhold::photo::outgoing_copy;
using frayhold::photo::OutgoingCopy;

namespace {

constexpr const char* secret = "Tilda-Secret";

// A JPEG with everything a camera, a phone and an editor may write beside the picture.
std::vector<std::byte> talkative_jpeg(const samples::Folder& folder, const std::string& save_options = "") {
    const std::string png = folder.file("in.png");
    const std::string thumbnail = folder.file("thumbnail.jpg");
    const std::string jpeg = folder.file("in.jpg");
    samples::write(png, frayhold::photo::encode_png(samples::picture(322, 242), 10.0));
    samples::write(thumbnail, frayhold::photo::encode_jpeg(samples::picture(64, 64), 80));
    samples::run(
        fmt::format("/usr/bin/python3 -c \"from PIL import Image, ImageCms; "
                    "p = ImageCms.ImageCmsProfile(ImageCms.createProfile('sRGB')).tobytes(); "
                    "Image.open('{}').save('{}', quality=88, icc_profile=p, comment=b'{}'{})\"",
                    png, jpeg, secret, save_options));
    samples::run(fmt::format(
        "exiftool -q -overwrite_original '-ThumbnailImage<={1}' -Make=Ashmeer -Model='PC-4' "
        "-LensModel='Prime 26' "
        "-Orientation#=6 -FocalLength=4.2 -FocalLengthIn35mmFormat=26 -DateTimeOriginal='2026:02:27 "
        "15:42:10' "
        "-ExposureTime=1/125 -FNumber=1.8 -ISO=64 -GPSLatitude=51.5 -GPSLatitudeRef=N -GPSLongitude=7.25 "
        "-GPSLongitudeRef=E -GPSAltitude=99 -Artist={2} -Copyright={2} -OwnerName={2} -SerialNumber={2} "
        "-LensSerialNumber={2} -ImageDescription={2} -UserComment={2} -XPAuthor={2} -XPComment={2} "
        "-ImageUniqueID={2} "
        "-OffsetTime=+01:00 -Software={2} -HostComputer={2} -XMP-dc:Creator={2} -XMP-exif:GPSLatitude=51.5 "
        "-XMP-photoshop:City={2} -IPTC:By-line={2} -IPTC:City={2} '{0}'",
        jpeg, thumbnail, secret));
    return samples::read(jpeg);
}

std::string text_of(std::span<const std::byte> bytes) {
    return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

bool contains(std::span<const std::byte> bytes, const std::string& words) {
    return text_of(bytes).find(words) != std::string::npos;
}

nlohmann::json seen_by_exiftool(const std::string& path) {
    return nlohmann::json::parse(samples::output_of("exiftool -j -a -u -G0:1 '" + path + "'")).at(0);
}

OutgoingCopy copy_of(std::span<const std::byte> original) {
    auto copy = outgoing_copy(original, "photo");
    REQUIRE(copy);
    return *std::move(copy);
}

cv::Mat pixels_by_djpeg(const samples::Folder& folder, const std::vector<std::byte>& jpeg) {
    samples::write(folder.file("pixels.jpg"), jpeg);
    samples::run("djpeg -ppm -outfile " + folder.file("pixels.ppm") + " " + folder.file("pixels.jpg"));
    return samples::read_pnm(folder.file("pixels.ppm"));
}

}  // namespace

TEST_CASE("An outgoing JPEG keeps every pixel, the camera's facts and nothing else") {
    const samples::Folder folder;
    for (const std::string options : {"", ", progressive=True", ", restart_marker_blocks=4"}) {
        INFO(options);
        const auto original = talkative_jpeg(folder, options);
        REQUIRE(contains(original, secret));
        const OutgoingCopy copy = copy_of(original);
        CHECK(copy.extension == ".jpg");
        CHECK_FALSE(copy.converted);
        CHECK(samples::same_pixels(pixels_by_djpeg(folder, original), pixels_by_djpeg(folder, copy.bytes)));
        CHECK_FALSE(contains(copy.bytes, secret));
        CHECK_FALSE(contains(copy.bytes, "http://ns.adobe.com"));

        const std::string path = folder.file("out.jpg");
        samples::write(path, copy.bytes);
        const nlohmann::json seen = seen_by_exiftool(path);
        INFO(seen.dump(1));
        CHECK(seen.at("EXIF:IFD0:Make") == "Ashmeer");
        CHECK(seen.at("EXIF:IFD0:Model") == "PC-4");
        CHECK(seen.at("EXIF:IFD0:Orientation") == "Rotate 90 CW");
        CHECK(seen.at("EXIF:ExifIFD:LensModel") == "Prime 26");
        CHECK(seen.at("EXIF:ExifIFD:FocalLength") == "4.2 mm");
        CHECK(seen.at("EXIF:ExifIFD:FocalLengthIn35mmFormat") == "26 mm");
        CHECK(seen.at("EXIF:ExifIFD:DateTimeOriginal") == "2026:02:27 15:42:10");
        const std::set<std::string> groups{"ExifTool",     "File",        "JFIF",     "EXIF:IFD0",
                                           "EXIF:ExifIFD", "ICC_Profile", "Composite"};
        for (const auto& [key, value] : seen.items()) {
            INFO(key);
            const bool known = key == "SourceFile" ||
                               std::any_of(groups.begin(), groups.end(),
                                           [&](const std::string& group) { return key.starts_with(group); });
            CHECK(known);
            CHECK(key.find("GPS") == std::string::npos);
            CHECK(key.find("Thumbnail") == std::string::npos);
            CHECK(key.find("Offset") == std::string::npos);
        }
    }
}

TEST_CASE("Our own reader finds the same facts in the copy, but no position and no owner") {
    const samples::Folder folder;
    const auto original = talkative_jpeg(folder);
    const auto before = frayhold::photo::decode(original, "in");
    const auto after = frayhold::photo::decode(copy_of(original).bytes, "out");
    REQUIRE(before);
    REQUIRE(after);
    CHECK(before->exif.has_position);
    CHECK(before->exif.has_owner);
    CHECK_FALSE(after->exif.has_position);
    CHECK_FALSE(after->exif.has_owner);
    CHECK(after->exif.make == before->exif.make);
    CHECK(after->exif.model == before->exif.model);
    CHECK(after->exif.lens == before->exif.lens);
    CHECK(after->exif.focal_mm == before->exif.focal_mm);
    CHECK(after->exif.focal_35mm_mm == before->exif.focal_35mm_mm);
    CHECK(after->exif.taken == before->exif.taken);
    CHECK(after->exif.orientation == 6);
    CHECK(samples::same_pixels(before->bgr, after->bgr));
}

TEST_CASE("What stands behind the picture is left out") {
    const samples::Folder folder;
    auto original = talkative_jpeg(folder);
    const auto whole = copy_of(original).bytes;
    const auto film = samples::bytes_of_text(std::string("\0\0\0\x18"
                                                         "ftypmp42",
                                                         12) +
                                             secret);
    original.insert(original.end(), film.begin(), film.end());
    CHECK(copy_of(original).bytes == whole);
    const auto second = talkative_jpeg(folder);
    original.insert(original.end(), second.begin(), second.end());
    CHECK(copy_of(original).bytes == whole);
}

TEST_CASE("A copy of a copy is the copy, and twice the same") {
    const samples::Folder folder;
    const auto original = talkative_jpeg(folder);
    const auto copy = copy_of(original).bytes;
    CHECK(copy_of(original).bytes == copy);
    CHECK(copy_of(copy).bytes == copy);
    const auto bare = frayhold::photo::encode_jpeg(samples::picture(100, 80), 90);
    CHECK(copy_of(bare).bytes == bare);
}

TEST_CASE("An outgoing PNG keeps every pixel and drops its texts") {
    const samples::Folder folder;
    const std::string path = folder.file("in.png");
    samples::write(path, frayhold::photo::encode_png(samples::picture(120, 90), 10.0));
    samples::run(fmt::format(
        "exiftool -q -overwrite_original -Make=Ashmeer -Orientation#=3 -GPSLatitude=51.5 -Artist={0} "
        "-PNG:Author={0} -PNG:Comment={0} -XMP-dc:Creator={0} -PNG:ModifyDate='2026:01:01 00:00:00' '{1}'",
        secret, path));
    const auto original = samples::read(path);
    REQUIRE(contains(original, secret));
    const OutgoingCopy copy = copy_of(original);
    CHECK(copy.extension == ".png");
    CHECK_FALSE(copy.converted);
    CHECK_FALSE(contains(copy.bytes, secret));
    const auto before = frayhold::photo::decode(original, "in");
    const auto after = frayhold::photo::decode(copy.bytes, "out");
    REQUIRE(before);
    REQUIRE(after);
    CHECK(samples::same_pixels(before->bgr, after->bgr));
    CHECK(before->exif.has_position);
    CHECK_FALSE(after->exif.has_position);
    CHECK(after->exif.orientation == 3);
    samples::write(path, copy.bytes);
    const nlohmann::json seen = seen_by_exiftool(path);
    CHECK(seen.at("EXIF:IFD0:Make") == "Ashmeer");
    CHECK_FALSE(seen.contains("ExifTool:ExifTool:Warning"));
    // Pillow checks every chunk's check sum.
    samples::run("/usr/bin/python3 -c \"from PIL import Image; i = Image.open('" + path + "'); i.verify()\"");
}

TEST_CASE("An outgoing HEIC is an upright JPEG without its place") {
    const samples::Folder folder;
    const std::string png = folder.file("in.png");
    const std::string heic = folder.file("in.heic");
    samples::write(png, frayhold::photo::encode_png(samples::picture(200, 150), 10.0));
    samples::run("heif-enc -q 95 -o " + heic + " " + png);
    samples::run(fmt::format(
        "exiftool -q -overwrite_original -Make=Ashmeer -Orientation#=6 -FocalLengthIn35mmFormat=26 "
        "-GPSLatitude=51.5 -GPSLatitudeRef=N -Artist={0} -XMP-dc:Creator={0} '{1}'",
        secret, heic));
    const auto original = samples::read(heic);
    REQUIRE(contains(original, secret));
    const OutgoingCopy copy = copy_of(original);
    CHECK(copy.extension == ".jpg");
    CHECK(copy.converted);
    CHECK_FALSE(contains(copy.bytes, secret));
    const auto before = frayhold::photo::decode(original, "in");
    const auto after = frayhold::photo::decode(copy.bytes, "out");
    REQUIRE(before);
    REQUIRE(after);
    CHECK(after->exif.make == "Ashmeer");
    CHECK(after->exif.orientation == 1);
    CHECK(after->exif.focal_35mm_mm == 26.0);
    CHECK_FALSE(after->exif.has_position);
    REQUIRE(after->bgr.size() == before->bgr.size());
    constexpr int coding_loss = 24;
    CHECK(samples::largest_difference(before->bgr, after->bgr) <= coding_loss);
}

TEST_CASE("A photo cut anywhere is refused or complete, never half") {
    const samples::Folder folder;
    const auto original = talkative_jpeg(folder);
    const auto whole = copy_of(original).bytes;
    int refused = 0;
    for (std::size_t length = 0; length < original.size(); length += 7) {
        const auto copy = outgoing_copy(std::span(original).first(length), "cut.jpg");
        if (copy) {
            CHECK(copy->bytes == whole);
        } else {
            CHECK(copy.error().fault == frayhold::Fault::input);
            CHECK(copy.error().where == "cut.jpg");
            ++refused;
        }
    }
    CHECK(refused > 1000);
    const auto png = frayhold::photo::encode_png(samples::picture(70, 70), 10.0);
    for (std::size_t length = 0; length < png.size(); length += 5)
        CHECK_FALSE(outgoing_copy(std::span(png).first(length), "p"));
    CHECK_FALSE(outgoing_copy(samples::bytes_of_text("not a picture"), "t"));
    CHECK_FALSE(outgoing_copy(samples::bytes_of_text(std::string("\0\0\0\x18"
                                                                 "ftypheic",
                                                                 12)),
                              "t"));
}
