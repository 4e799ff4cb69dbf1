// SPDX-License-Identifier: Apache-2.0
// Judged by other programs: ExifTool (libimage-exiftool-perl), sha256sum (coreutils) and poppler.
#include "pack/evidence_pack.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <map>
#include <nlohmann/json.hpp>
#include <numeric>

#include "outside.h"
#include "pack/pdf_document.h"
#include "sample_case.h"

namespace frayhold::pack {
namespace {

constexpr const char* owner = "Tilda-Secret";
constexpr const char* user = "Tilda-Climber";
constexpr const char* supplier = "Tilda-Shop";

std::vector<std::byte> with_place_and_owner(const std::vector<std::byte>& jpeg) {
    const test::ScratchFolder scratch;
    const auto path = scratch.write("photo.jpg", jpeg);
    const test::Ran ran =
        test::run(fmt::format("exiftool -q -overwrite_original -GPSLatitude=51.5 -GPSLatitudeRef=N "
                              "-GPSLongitude=7 -GPSLongitudeRef=E -Artist={0} "
                              "-XMP-dc:Creator={0} -Make=Ashmeer -Model=PC-4 -Orientation#=6 {1}",
                              owner, test::quoted(path)));
    REQUIRE(ran.exit_code == 0);
    return test::bytes_of(path);
}

PackOrder order() {
    static const std::array<std::filesystem::path, 1> folders{FRAYHOLD_SOURCE_DIR "/templates/letters"};
    PackOrder out;
    out.letter.file = test::sample_case();
    out.letter.file.item.used_by = user;
    out.letter.file.item.supplier = supplier;
    out.letter.questions = {"fit", "batch"};
    out.letter.keeper = "Ida Fenwright";
    out.letter.outfit = "Korrel Tree Crew";
    out.language = load_letter_template(folders, "de");
    out.made = *parse_time("2026-02-28T09:30:00Z");
    static const auto originals = std::map<std::string, std::vector<std::byte>>{
        {out.letter.file.photos[0].sha256, with_place_and_owner(test::sample_picture(900, 1200, 0))},
        {out.letter.file.photos[1].sha256, with_place_and_owner(test::sample_picture(1200, 900, 0))},
        {out.letter.file.photos[2].sha256, with_place_and_owner(test::sample_picture(1200, 900, 1))},
        {out.letter.file.photos[1].markup_sha256, test::sample_picture(1200, 900, 2)},
        {out.letter.file.photos[2].markup_sha256, test::sample_picture(1200, 900, 3)}};
    out.kept_bytes = [](const std::string& sha256) { return originals.at(sha256); };
    return out;
}

std::size_t size_of(const std::vector<MailAttachment>& attachments) {
    return std::accumulate(attachments.begin(), attachments.end(), std::size_t{0},
                           [](std::size_t sum, const MailAttachment& a) { return sum + a.bytes.size(); });
}

std::vector<std::string> names_of(const std::vector<MailAttachment>& attachments) {
    std::vector<std::string> names;
    for (const MailAttachment& attachment : attachments) names.push_back(attachment.file_name);
    return names;
}

}  // namespace

TEST_CASE("A pack holds the case's file, letter, JSON and photos, and sha256sum proves it") {
    const test::ScratchFolder scratch;
    const auto folder = scratch.path() / "pack";
    const EvidencePack pack = make_evidence_pack(order());
    write_pack_folder(folder, bag_of(pack, order()));
    CHECK(test::run("cd " + test::quoted(folder) +
                    " && sha256sum --strict -c manifest-sha256.txt tagmanifest-sha256.txt")
              .exit_code == 0);
    std::vector<std::string> names;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder / "data"))
        if (entry.is_regular_file())
            names.push_back(std::filesystem::relative(entry.path(), folder / "data").string());
    std::sort(names.begin(), names.end());
    // Photo 4 failed its quality check: the PDF says so, its picture is not sent.
    CHECK(names == std::vector<std::string>{"case.json", "case.pdf", "letter.txt", "photos/1-whole-item.jpg",
                                            "photos/2-close-up-marked.jpg", "photos/2-close-up.jpg",
                                            "photos/3-other-side-marked.jpg", "photos/3-other-side.jpg"});
    const nlohmann::json json = nlohmann::json::parse(pack.json);
    CHECK(json.at("case").at("hold").at("number") == "H-2026-0001");
    CHECK(json.at("caution") == "The maker's instructions, local law and a competent person come first.");
    REQUIRE(pack.letter);
    CHECK(pack.letter->body.find("1. Ist der Gegenstand") != std::string::npos);
    CHECK(test::text_of_pdf(pack.pdf).find("Ist der Gegenstand") != std::string::npos);
}

TEST_CASE("Nowhere in a pack or a mail stands where a photo was taken or who owns the camera") {
    const test::ScratchFolder scratch;
    const EvidencePack pack = make_evidence_pack(order());
    std::vector<PackFile> files = bag_files(bag_of(pack, order()));
    for (const MailAttachment& attachment : pack.attachments)
        files.push_back({attachment.file_name, attachment.bytes});
    CHECK(files.size() == 16);
    int photos = 0;
    for (const PackFile& file : files) {
        INFO(file.path);
        const std::string text(reinterpret_cast<const char*>(file.bytes.data()), file.bytes.size());
        CHECK(text.find(owner) == std::string::npos);
        CHECK(text.find(user) == std::string::npos);
        CHECK(text.find(supplier) == std::string::npos);
        const std::string name = "it" + std::filesystem::path(file.path).extension().string();
        const std::string seen =
            test::run("exiftool -a -u -G1 " + test::quoted(scratch.write(name, file.bytes))).output;
        CHECK(seen.find("GPS") == std::string::npos);
        CHECK(seen.find("Artist") == std::string::npos);
        CHECK(seen.find("Owner") == std::string::npos);
        CHECK(seen.find("File Size") != std::string::npos);  // it was looked into
        if (!file.path.ends_with(".jpg")) continue;
        CHECK(seen.find("Image Width") != std::string::npos);
        ++photos;
    }
    CHECK(photos == 8);
}

TEST_CASE("Pictures that are too large for a mail are scaled together, and say so") {
    const PackOrder usual = order();
    const EvidencePack whole = make_evidence_pack(usual);
    CHECK(names_of(whole.attachments) == std::vector<std::string>{"H-2026-0001.pdf", "1-whole-item.jpg",
                                                                  "2-close-up-marked.jpg",
                                                                  "3-other-side-marked.jpg"});
    PackOrder tight = usual;
    tight.most_mail_bytes = size_of(whole.attachments) - 50'000;
    const EvidencePack small = make_evidence_pack(tight);
    CHECK(size_of(small.attachments) <= tight.most_mail_bytes);
    REQUIRE(small.attachments.size() == 4);
    // Upright after scaling: the original lay on its side (orientation 6).
    const PictureSize size = jpeg_size(small.attachments[1].bytes);
    CHECK(size.width_px < 1200);
    CHECK(size.height_px == size.width_px * 3 / 4);
    const std::string name = fmt::format("2-close-up-marked-{}px.jpg", size.width_px);
    CHECK(names_of(small.attachments)[2] == name);
    // The folder keeps them whole, and the letter names what is attached.
    CHECK(small.photos.size() == whole.photos.size());
    CHECK(small.photos[1].bytes == whole.photos[1].bytes);
    CHECK(small.letter->body.find(name) != std::string::npos);

    tight.most_mail_bytes = 1000;
    CHECK_THROWS_WITH(make_evidence_pack(tight), Catch::Contains("larger than"));
}

TEST_CASE("The same order gives the same pack") {
    const auto one = bag_files(bag_of(make_evidence_pack(order()), order()));
    const auto two = bag_files(bag_of(make_evidence_pack(order()), order()));
    REQUIRE(one.size() == two.size());
    for (std::size_t i = 0; i < one.size(); ++i) {
        CHECK(one[i].path == two[i].path);
        CHECK(one[i].bytes == two[i].bytes);
    }
}

TEST_CASE("A pack without a question has no letter; one of an unreadable photo is refused") {
    PackOrder quiet = order();
    quiet.letter.questions.clear();
    const EvidencePack pack = make_evidence_pack(quiet);
    CHECK_FALSE(pack.letter);
    const auto files = bag_files(bag_of(pack, quiet));
    CHECK(std::none_of(files.begin(), files.end(),
                       [](const PackFile& f) { return f.path == "data/letter.txt"; }));

    PackOrder broken = order();
    broken.kept_bytes = [](const std::string&) { return std::vector<std::byte>(10); };
    CHECK_THROWS_WITH(make_evidence_pack(broken), Catch::Contains("photo 1"));
}

}  // namespace frayhold::pack
