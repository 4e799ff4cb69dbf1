// SPDX-License-Identifier: Apache-2.0
#include "pack/card_sheet.h"

#include <png.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <opencv2/aruco.hpp>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "gauge/card_design.h"
#include "outside.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

// Reads an 8-bit grey picture with libpng's simplified interface.
cv::Mat read_grey_png(const std::vector<std::byte>& bytes) {
    png_image image{};
    image.version = PNG_IMAGE_VERSION;
    REQUIRE(png_image_begin_read_from_memory(&image, bytes.data(), bytes.size()) != 0);
    image.format = PNG_FORMAT_GRAY;
    cv::Mat grey(static_cast<int>(image.height), static_cast<int>(image.width), CV_8UC1);
    REQUIRE(png_image_finish_read(&image, nullptr, grey.data, static_cast<png_int_32>(grey.step), nullptr) !=
            0);
    return grey;
}

// Renders a page with poppler at 600 dots per inch.
cv::Mat rendered(const std::vector<std::byte>& pdf) {
    const test::ScratchFolder scratch;
    const auto page = scratch.path() / "page";
    const test::Ran ran = test::run("pdftoppm -r 600 -gray -png -singlefile " +
                                    test::quoted(scratch.write("card.pdf", pdf)) + " " + test::quoted(page));
    REQUIRE(ran.exit_code == 0);
    return read_grey_png(test::bytes_of(page.string() + ".png"));
}

// Where along the scan line the grey falls through the middle for the first time, in pixels, interpolated
// between pixel centres; the edge of pixel 0 is at 0.
double first_dark_edge(const cv::Mat& line) {
    for (int i = 1; i < static_cast<int>(line.total()); ++i) {
        const double before = line.at<uchar>(i - 1);
        const double here = line.at<uchar>(i);
        if (before >= 127.5 && here < 127.5) return i - 0.5 + (before - 127.5) / (before - here);
    }
    FAIL("no dark edge");
    return 0;
}

}  // namespace

TEST_CASE("The card PNG fills the picture at 0.02 mm a pixel") {
    const auto bytes = card_png(std::nullopt);
    const cv::Mat grey = read_grey_png(bytes);
    CHECK(grey.cols == 4280);
    CHECK(grey.rows == 2699);
    // The nominal ID-1 size, ISO/IEC 7810:2019.
    CHECK(grey.cols * card_png_mm_per_px == Approx(85.60));
    CHECK(grey.rows * card_png_mm_per_px == Approx(53.98));

    const test::ScratchFolder scratch;
    // 50,000 pixels a metre are 1270 pixels an inch; read by Pillow.
    const test::Ran about =
        test::run("/usr/bin/python3 -c \"from PIL import Image; i = Image.open('" +
                  scratch.write("card.png", bytes).string() + "'); print(i.mode, i.size, i.info['dpi'])\"");
    CHECK(about.output.find("L (4280, 2699) (1270.0, 1270.0)") != std::string::npos);
}

TEST_CASE("Every patch of the design stands in the picture in its own grey") {
    const cv::Mat grey = read_grey_png(card_png(std::string("H-2026-0001")));
    for (const gauge::CardPatch& patch : gauge::card_patches()) {
        const cv::Rect2d& r = patch.rect_mm;
        const int x = static_cast<int>(std::lround((r.x + r.width / 2) / card_png_mm_per_px));
        const int y = static_cast<int>(std::lround((r.y + r.height / 2) / card_png_mm_per_px));
        CHECK(static_cast<int>(grey.at<uchar>(y, x)) == patch.grey);
    }
    // White between the frame and the cut, and around the markers.
    CHECK(static_cast<int>(grey.at<uchar>(10, 10)) == 255);
    CHECK(static_cast<int>(grey.at<uchar>(200, 200)) == 255);
}

TEST_CASE("The edges of the card PNG lie where the design says, to 0.003 mm") {
    const cv::Mat grey = read_grey_png(card_png(std::nullopt));
    for (const gauge::CardMarker& marker : gauge::card_markers()) {
        const double module_mm = gauge::marker_side_mm / gauge::marker_modules;
        const int row = static_cast<int>((marker.top_left_mm.y + module_mm / 2) / card_png_mm_per_px);
        const int column = static_cast<int>((marker.top_left_mm.x + module_mm / 2) / card_png_mm_per_px);
        const int from_x = static_cast<int>((marker.top_left_mm.x - 1.0) / card_png_mm_per_px);
        const int from_y = static_cast<int>((marker.top_left_mm.y - 1.0) / card_png_mm_per_px);
        const double left_mm =
            (from_x + first_dark_edge(grey.row(row).colRange(from_x, from_x + 100))) * card_png_mm_per_px;
        const double top_mm =
            (from_y + first_dark_edge(grey.col(column).rowRange(from_y, from_y + 100).clone())) *
            card_png_mm_per_px;
        CHECK(left_mm == Approx(marker.top_left_mm.x).margin(0.003));
        CHECK(top_mm == Approx(marker.top_left_mm.y).margin(0.003));
    }
}

TEST_CASE("A general marker detector reads the four markers of the card") {
    cv::Mat grey = read_grey_png(card_png(std::string("H-2026-0001")));
    cv::resize(grey, grey, {}, 0.25, 0.25, cv::INTER_AREA);
    std::vector<std::vector<cv::Point2f>> corners;
    std::vector<int> ids;
    cv::aruco::detectMarkers(grey, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_4X4_50), corners, ids);
    std::sort(ids.begin(), ids.end());
    std::vector<int> expected;
    for (const gauge::CardMarker& marker : gauge::card_markers()) expected.push_back(marker.id);
    std::sort(expected.begin(), expected.end());
    CHECK(ids == expected);
}

TEST_CASE("Lettering stays inside its two areas") {
    const cv::Mat with = read_grey_png(card_png(std::string("H-2026-0001")));
    cv::Mat bare(with.size(), CV_8UC1, cv::Scalar(255));
    for (const gauge::CardPatch& patch : gauge::card_patches()) {
        const cv::Rect2d& r = patch.rect_mm;
        const cv::Point from(static_cast<int>(std::floor(r.x / card_png_mm_per_px)),
                             static_cast<int>(std::floor(r.y / card_png_mm_per_px)));
        const cv::Point to(static_cast<int>(std::ceil(r.br().x / card_png_mm_per_px)),
                           static_cast<int>(std::ceil(r.br().y / card_png_mm_per_px)));
        bare(cv::Rect(from, to)) = cv::Scalar(0);
    }
    cv::Mat lettering = (bare == 255) & (with < 250);
    CHECK(cv::countNonZero(lettering) > 1000);
    for (const cv::Rect2d& area : {gauge::hold_number_area_mm, gauge::name_area_mm}) {
        const cv::Rect px(static_cast<int>(area.x / card_png_mm_per_px),
                          static_cast<int>(area.y / card_png_mm_per_px),
                          static_cast<int>(area.width / card_png_mm_per_px),
                          static_cast<int>(area.height / card_png_mm_per_px));
        lettering(px) = cv::Scalar(0);
    }
    CHECK(cv::countNonZero(lettering) == 0);
}

TEST_CASE("The card PDF is one A4 page of vectors with the card at its exact size") {
    const auto pdf = card_pdf(std::string("H-2026-0001"));
    const test::ScratchFolder scratch;
    const auto path = test::quoted(scratch.write("card.pdf", pdf));

    // poppler's own reading of the file.
    const std::string info = test::run("pdfinfo " + path).output;
    CHECK(info.find("Pages:           1") != std::string::npos);
    CHECK(info.find("(A4)") != std::string::npos);
    CHECK(info.find("CreationDate") == std::string::npos);
    const std::string images = test::run("pdfimages -list " + path).output;
    CHECK(std::count(images.begin(), images.end(), '\n') == 2);  // the two lines of the table's heading
    const std::string text = test::text_of_pdf(pdf);
    CHECK(text.find("H-2026-0001") != std::string::npos);
    CHECK(text.find("At 100 %") != std::string::npos);
    CHECK(text.find("40.0 mm") != std::string::npos);

    // The black frame, measured on the page: the card is centred across, so its frame starts at the same
    // place from either side.
    const cv::Mat page = rendered(pdf);
    const double px_per_mm = 600 / 25.4;
    const int row = static_cast<int>((56 + 26.5) * px_per_mm);
    const cv::Mat line = page.row(row);
    cv::Mat mirrored;
    cv::flip(line, mirrored, 1);
    const double left = first_dark_edge(line) / px_per_mm;
    const double right = (page.cols - first_dark_edge(mirrored)) / px_per_mm;
    CHECK(right - left == Approx(gauge::id1_width_mm - 2 * gauge::frame_inset_mm).margin(0.05));

    // First and last tick 40 mm apart.
    const int tick_row = static_cast<int>((56 + 4.5) * px_per_mm);
    const double card_left = (210.0 - gauge::id1_width_mm) / 2;
    const int from = static_cast<int>((card_left + gauge::tick_start_mm - 0.5) * px_per_mm);
    const int upto =
        static_cast<int>((card_left + gauge::tick_start_mm + gauge::tick_count_mm + 0.5) * px_per_mm);
    const cv::Mat ticks = page.row(tick_row).colRange(from, upto);
    cv::Mat back;
    cv::flip(ticks, back, 1);
    const double first = first_dark_edge(ticks) / px_per_mm;
    const double last = (ticks.cols - first_dark_edge(back)) / px_per_mm;
    CHECK(last - first == Approx(gauge::tick_count_mm + 0.2).margin(0.05));  // each tick is 0.2 mm wide
}

TEST_CASE("The same card twice gives the same bytes") {
    CHECK(card_pdf(std::nullopt) == card_pdf(std::nullopt));
    CHECK(card_png(std::string("H-2026-0001")) == card_png(std::string("H-2026-0001")));
    CHECK(card_png(std::string("H-2026-0001")) != card_png(std::string("H-2026-0002")));
}

TEST_CASE("A hold number that cannot stand on the card is refused") {
    for (const std::string number : {"", "H-2026-0001-and-much-more", "H\n1",
                                     "H\xE2\x80\xAE"
                                     "1"}) {
        CHECK_THROWS_AS(card_pdf(number), Failure);
        CHECK_THROWS_AS(card_png(number), Failure);
    }
}

}  // namespace frayhold::pack
