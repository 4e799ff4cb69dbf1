// SPDX-License-Identifier: Apache-2.0
// Photos as other programs write and read them: cjpeg and djpeg of libjpeg-turbo-progs, Pillow (python3-pil),
// ExifTool (libimage-exiftool-perl), heif-enc (libheif-examples) and ImageMagick, all from Debian.
#include <fmt/format.h>
#include <libheif/heif.h>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <opencv2/core.hpp>

#include "photo/encode.h"
#include "photo/photo.h"
#include "samples.h"

using frayhold::photo::load;
using frayhold::photo::Photo;

namespace {

void python(const std::string& program) {
    samples::run("/usr/bin/python3 -c \"" + program + "\"");
}

// The picture as Pillow shows it: turned upright, three channels.
cv::Mat pillow_view(const samples::Folder& folder, const std::string& path) {
    const std::string ppm = folder.file("pillow.ppm");
    python(
        fmt::format("from PIL import Image, ImageOps; "
                    "ImageOps.exif_transpose(Image.open('{}')).convert('RGB').save('{}')",
                    path, ppm));
    return samples::read_pnm(ppm);
}

// Writes the sample picture as a PNG of the given name.
std::string sample_png(const samples::Folder& folder, int width, int height) {
    const std::string path = folder.file("sample.png");
    samples::write(path, frayhold::photo::encode_png(samples::picture(width, height), 10.0));
    return path;
}

// Encodes with libheif, telling it that the picture is to be shown turned a quarter to the right.
void write_heic_turned_right(const std::string& path, const cv::Mat& bgr) {
    heif_context* context = heif_context_alloc();
    heif_encoder* encoder = nullptr;
    REQUIRE(heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder).code ==
            heif_error_Ok);
    heif_encoder_set_lossy_quality(encoder, 95);
    heif_image* image = nullptr;
    REQUIRE(heif_image_create(bgr.cols, bgr.rows, heif_colorspace_RGB, heif_chroma_interleaved_RGB, &image)
                .code == heif_error_Ok);
    REQUIRE(heif_image_add_plane(image, heif_channel_interleaved, bgr.cols, bgr.rows, 8).code ==
            heif_error_Ok);
    int stride = 0;
    uint8_t* plane = heif_image_get_plane(image, heif_channel_interleaved, &stride);
    for (int y = 0; y < bgr.rows; ++y)
        for (int x = 0; x < bgr.cols; ++x)
            for (int c = 0; c < 3; ++c) plane[y * stride + 3 * x + c] = bgr.at<cv::Vec3b>(y, x)[2 - c];
    heif_encoding_options* options = heif_encoding_options_alloc();
    options->image_orientation = heif_orientation_rotate_90_cw;
    REQUIRE(heif_context_encode_image(context, image, encoder, options, nullptr).code == heif_error_Ok);
    REQUIRE(heif_context_write_to_file(context, path.c_str()).code == heif_error_Ok);
    heif_encoding_options_free(options);
    heif_image_release(image);
    heif_encoder_release(encoder);
    heif_context_free(context);
}

}  // namespace

TEST_CASE("JPEG pixels equal those of djpeg to the last bit") {
    const samples::Folder folder;
    const std::string ppm = folder.file("in.ppm");
    python(
        fmt::format("from PIL import Image; Image.open('{}').save('{}')", sample_png(folder, 333, 222), ppm));
    for (const std::string kind :
         {"-sample 1x1", "-sample 2x1", "-sample 2x2", "-sample 1x2", "-sample 2x2 -progressive",
          "-grayscale", "-grayscale -progressive", "-sample 2x2 -restart 1", "-arithmetic", "-rgb",
          "-optimize -quality 35"}) {
        INFO(kind);
        const std::string jpeg = folder.file("kind.jpg");
        const std::string back = folder.file("back.ppm");
        samples::run(fmt::format("cjpeg {} -outfile {} {}", kind, jpeg, ppm));
        samples::run(fmt::format("djpeg -dct int -pnm -outfile {} {}", back, jpeg));
        CHECK(samples::same_pixels(load(jpeg).bgr, samples::read_pnm(back)));
    }
}

TEST_CASE("a four-ink JPEG has the colours that Pillow gives it") {
    const samples::Folder folder;
    const std::string jpeg = folder.file("inks.jpg");
    python(fmt::format("from PIL import Image; Image.open('{}').convert('CMYK').save('{}', quality=95)",
                       sample_png(folder, 160, 120), jpeg));
    // Pillow rounds its product of ink and black in another place: one step of 255.
    CHECK(samples::largest_difference(load(jpeg).bgr, pillow_view(folder, jpeg)) <= 1);
}

TEST_CASE("PNG pixels of every kind equal those of Pillow") {
    const samples::Folder folder;
    const std::string source = sample_png(folder, 160, 120);
    const std::string made = folder.file("made.png");
    for (const std::string kind : {"convert('P')", "convert('L')", "convert('1')", "convert('RGB')"}) {
        INFO(kind);
        python(fmt::format("from PIL import Image; Image.open('{}').{}.save('{}')", source, kind, made));
        CHECK(samples::same_pixels(load(made).bgr, pillow_view(folder, made)));
    }
    for (const std::string kind :
         {"-interlace PNG -define png:color-type=2", "-define png:bit-depth=16 -define png:color-type=2"}) {
        INFO(kind);
        samples::run(fmt::format("convert {} {} {}", source, kind, made));
        CHECK(samples::largest_difference(load(made).bgr, pillow_view(folder, made)) <= 1);
    }
    // Fully transparent parts are white paper, opaque ones as they are.
    python(
        fmt::format("from PIL import Image; i=Image.open('{}').convert('RGBA'); "
                    "i.paste((10,20,30,0),(0,0,80,120)); i.save('{}')",
                    source, made));
    const cv::Mat bgr = load(made).bgr;
    CHECK(bgr.at<cv::Vec3b>(60, 40) == cv::Vec3b(255, 255, 255));
    CHECK(bgr.at<cv::Vec3b>(60, 120) == samples::picture(160, 120).at<cv::Vec3b>(60, 120));
}

TEST_CASE("each orientation is turned as Pillow turns it") {
    const samples::Folder folder;
    const auto file = [&](int orientation, const std::string& ending) {
        return folder.file(fmt::format("turn{}.{}", orientation, ending));
    };
    std::string tags;
    for (int orientation = 1; orientation <= 8; ++orientation) {
        samples::write(file(orientation, "jpg"),
                       frayhold::photo::encode_jpeg(samples::picture(203, 131), 92));
        tags += fmt::format(" -Orientation={} {} -execute", orientation, file(orientation, "jpg"));
    }
    samples::run("exiftool" + tags + " -common_args -q -overwrite_original -n");
    python(
        fmt::format("from PIL import Image, ImageOps\nfor i in range(1, 9): "
                    "ImageOps.exif_transpose(Image.open('{0}/turn%d.jpg' % i)).save('{0}/turn%d.ppm' % i)",
                    folder.path().string()));
    for (int orientation = 1; orientation <= 8; ++orientation) {
        INFO("orientation " << orientation);
        const Photo photo = load(file(orientation, "jpg"));
        CHECK(photo.exif.orientation == orientation);
        CHECK(samples::same_pixels(photo.bgr, samples::read_pnm(file(orientation, "ppm"))));
    }
}

TEST_CASE("Exif facts equal those ExifTool reads, from JPEG, PNG and HEIC") {
    const samples::Folder folder;
    const std::string jpeg = folder.file("facts.jpg");
    const std::string png = folder.file("facts.png");
    const std::string heic = folder.file("facts.heic");
    samples::write(jpeg, frayhold::photo::encode_jpeg(samples::picture(192, 128), 92));
    samples::write(png, frayhold::photo::encode_png(samples::picture(192, 128), 10.0));
    samples::run(fmt::format("heif-enc -q 90 -o {} {}", heic, png));
    for (const std::string& path : {jpeg, png, heic}) {
        INFO(path);
        // An XMP segment first: the Exif block is then not the first of its kind.
        samples::run(fmt::format(
            "exiftool -q -overwrite_original -n -XMP:Title=rope -EXIF:Make='Lumenfold' -EXIF:Model='LF 7 ' "
            "-EXIF:LensModel='7 mm f/1.8' -EXIF:FocalLength=6.86 -EXIF:FocalLengthIn35mmFormat=26 "
            "-EXIF:DigitalZoomRatio=1.5 -EXIF:DateTimeOriginal='2026:02:28 09:30:05' -EXIF:GPSLatitude=47.5 "
            "-EXIF:GPSLatitudeRef=N -EXIF:GPSLongitude=8.1 -EXIF:GPSLongitudeRef=E -EXIF:Artist='Ida "
            "Fenwright' {}",
            path));
        const auto said = nlohmann::json::parse(samples::output_of("exiftool -j -n -EXIF:all " + path)).at(0);
        const auto facts = load(path).exif;
        CHECK(facts.make == said.at("Make"));
        CHECK(facts.model == "LF 7");
        CHECK(facts.lens == said.at("LensModel"));
        CHECK(facts.focal_mm.value() == Approx(said.at("FocalLength").get<double>()));
        CHECK(facts.focal_35mm_mm.value() == Approx(said.at("FocalLengthIn35mmFormat").get<double>()));
        CHECK(facts.digital_zoom.value() == Approx(said.at("DigitalZoomRatio").get<double>()));
        CHECK(said.at("DateTimeOriginal") == "2026:02:28 09:30:05");
        CHECK(facts.taken == "2026-02-28T09:30:05");
        CHECK(facts.has_position);
        CHECK(facts.has_owner);
        samples::run("exiftool -q -overwrite_original -gps:all= -Artist= " + path);
        CHECK_FALSE(load(path).exif.has_position);
        CHECK_FALSE(load(path).exif.has_owner);
    }
}

TEST_CASE("a HEIC picture looks like the one it was made from") {
    const samples::Folder folder;
    const std::string heic = folder.file("rope.heic");
    samples::run(fmt::format("heif-enc -L -p chroma=444 --matrix_coefficients=0 -o {} {}", heic,
                             sample_png(folder, 256, 192)));
    const Photo photo = load(heic);
    CHECK(photo.format == "heic");
    // The encoder's own "lossless" goes through a colour transform that rounds once.
    CHECK(samples::largest_difference(photo.bgr, samples::picture(256, 192)) <= 1);
}

// ISO/IEC 23008-12: the container's 'irot' and 'imir' say how the picture is held; an Exif orientation beside
// them describes the same turn and must not be applied again.
TEST_CASE("a HEIC picture is turned by its container, not once more by Exif") {
    const samples::Folder folder;
    const std::string heic = folder.file("turned.heic");
    const cv::Mat stored = samples::picture(256, 192);
    write_heic_turned_right(heic, stored);
    samples::run("exiftool -q -overwrite_original -n -EXIF:Orientation=6 " + heic);
    const Photo photo = load(heic);
    CHECK(photo.exif.orientation == 6);
    cv::Mat upright;
    cv::rotate(stored, upright, cv::ROTATE_90_CLOCKWISE);
    REQUIRE(photo.bgr.size() == upright.size());
    CHECK(cv::norm(photo.bgr, upright, cv::NORM_L1) / static_cast<double>(upright.total() * 3) < 8.0);
}

TEST_CASE("a HEIC file cut short or too large is refused") {
    const samples::Folder folder;
    const std::string heic = folder.file("rope.heic");
    samples::run(fmt::format("heif-enc -q 90 -o {} {}", heic, sample_png(folder, 256, 192)));
    const auto bytes = samples::read(heic);
    for (std::size_t tenth = 1; tenth < 10; ++tenth) {
        const auto part = std::span(bytes).first(bytes.size() * tenth / 10);
        const auto result = frayhold::photo::decode(part, "rope.heic");
        REQUIRE_FALSE(result);
        CHECK(result.error().fault == frayhold::Fault::input);
    }
    frayhold::photo::DecodeLimits limits;
    limits.max_side_px = 200;
    const auto result = frayhold::photo::decode(bytes, "rope.heic", limits);
    REQUIRE_FALSE(result);
    CHECK(result.error().what.find("≤ 200 px") != std::string::npos);
}

TEST_CASE("Pillow reads the pictures the program makes, with the print size") {
    const samples::Folder folder;
    const std::string png = sample_png(folder, 160, 120);
    CHECK(samples::same_pixels(pillow_view(folder, png), samples::picture(160, 120)));
    // 10 dots a millimetre are 254 dots an inch.
    CHECK(samples::output_of(fmt::format("/usr/bin/python3 -c \"from PIL import Image; print([round(d) for d "
                                         "in Image.open('{}').info['dpi']])\"",
                                         png)) == "[254, 254]\n");
    const std::string jpeg = folder.file("made.jpg");
    samples::write(jpeg, frayhold::photo::encode_jpeg(samples::picture(160, 120), 90));
    CHECK(samples::same_pixels(pillow_view(folder, jpeg), load(jpeg).bgr));
    CHECK(samples::output_of("exiftool -EXIF:all -GPS:all " + jpeg).empty());
}
