// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cairo.h>

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "units/date.h"

namespace frayhold::pack {

inline constexpr double a4_width_mm = 210.0;
inline constexpr double a4_height_mm = 297.0;

struct Paper {
    double width_mm = a4_width_mm;
    double height_mm = a4_height_mm;
};

namespace papers {
inline constexpr Paper a4{};
inline constexpr Paper letter{215.9, 279.4};
}  // namespace papers

// A PDF in memory, of A4 pages where no other paper is named; the context's unit is the point, its origin the
// top left corner of the page. The same calls give the same bytes: no clock and no random numbers enter.
class PdfDocument {
  public:
    // created: stands in the file as its creation date; none is written where empty.
    PdfDocument(const std::string& title, const std::string& author, std::optional<Time> created,
                const Paper& paper = papers::a4);

    [[nodiscard]] cairo_t* context() const { return context_.get(); }
    void end_page();
    // Draws the JPEG as it is, not decoded and not compressed anew, turned by its Exif orientation (1 to 8)
    // into the box. The bytes must live until finish(). Throws Failure (Fault::input) where they are no JPEG.
    void draw_jpeg(const std::vector<std::byte>& jpeg, int orientation, double x, double y, double width,
                   double height);
    // Ends the document. Throws Failure (Fault::outside) where Cairo could not write it.
    [[nodiscard]] std::vector<std::byte> finish();

  private:
    std::unique_ptr<std::vector<std::byte>> bytes_;  // at an address that Cairo can keep
    std::shared_ptr<cairo_surface_t> surface_;
    std::shared_ptr<cairo_t> context_;
};

struct PictureSize {
    int width_px = 0;
    int height_px = 0;
};

// As stored, read from the JPEG's header. Throws Failure (Fault::input) where the bytes are no JPEG.
[[nodiscard]] PictureSize jpeg_size(const std::vector<std::byte>& jpeg);

}  // namespace frayhold::pack
