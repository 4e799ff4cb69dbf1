// SPDX-License-Identifier: Apache-2.0
#include "pack/pdf_document.h"

#include <cairo-pdf.h>
#include <turbojpeg.h>

#include "language/tr.h"
#include "pack/lettering.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

cairo_status_t append(void* closure, const unsigned char* data, unsigned int length) {
    auto* bytes = static_cast<std::vector<std::byte>*>(closure);
    const auto* from = reinterpret_cast<const std::byte*>(data);
    bytes->insert(bytes->end(), from, from + length);
    return CAIRO_STATUS_SUCCESS;
}

void demand_success(cairo_status_t status) {
    if (status != CAIRO_STATUS_SUCCESS)
        throw Failure(Fault::outside, "PDF", cairo_status_to_string(status),
                      "free some memory and try again");
}

// From the unit square of the stored picture to that of the upright one (Exif 2.3, 4.6.4, tag Orientation).
cairo_matrix_t upright_from_stored(int orientation) {
    switch (orientation) {
        case 2:
            return {-1, 0, 0, 1, 1, 0};
        case 3:
            return {-1, 0, 0, -1, 1, 1};
        case 4:
            return {1, 0, 0, -1, 0, 1};
        case 5:
            return {0, 1, 1, 0, 0, 0};
        case 6:
            return {0, 1, -1, 0, 1, 0};
        case 7:
            return {0, -1, -1, 0, 1, 1};
        case 8:
            return {0, -1, 1, 0, 0, 1};
        default:
            return {1, 0, 0, 1, 0, 0};
    }
}

}  // namespace

PdfDocument::PdfDocument(const std::string& title, const std::string& author, std::optional<Time> created,
                         const Paper& paper)
    : bytes_(std::make_unique<std::vector<std::byte>>()),
      surface_(
          cairo_pdf_surface_create_for_stream(append, bytes_.get(), mm(paper.width_mm), mm(paper.height_mm)),
          cairo_surface_destroy) {
    demand_success(cairo_surface_status(surface_.get()));
    const auto set = [&](cairo_pdf_metadata_t key, const char* value) {
        cairo_pdf_surface_set_metadata(surface_.get(), key, value);
    };
    set(CAIRO_PDF_METADATA_TITLE, title.c_str());
    if (!author.empty()) set(CAIRO_PDF_METADATA_AUTHOR, author.c_str());
    set(CAIRO_PDF_METADATA_CREATOR, "Frayhold");
    // Without this call Cairo writes the clock's time.
    set(CAIRO_PDF_METADATA_CREATE_DATE, created ? to_text(*created).c_str() : nullptr);
    context_ = std::shared_ptr<cairo_t>(cairo_create(surface_.get()), cairo_destroy);
}

void PdfDocument::end_page() {
    cairo_show_page(context_.get());
}

void PdfDocument::draw_jpeg(const std::vector<std::byte>& jpeg, int orientation, double x, double y,
                            double width, double height) {
    const PictureSize size = jpeg_size(jpeg);
    // Cairo takes the size from this surface and the picture from the attached JPEG; its pixels are never
    // read.
    const std::shared_ptr<cairo_surface_t> picture(
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, size.width_px, size.height_px), cairo_surface_destroy);
    demand_success(cairo_surface_status(picture.get()));
    cairo_surface_mark_dirty(picture.get());
    const auto* data = reinterpret_cast<const unsigned char*>(jpeg.data());
    demand_success(cairo_surface_set_mime_data(picture.get(), CAIRO_MIME_TYPE_JPEG, data, jpeg.size(),
                                               nullptr, nullptr));
    cairo_t* context = context_.get();
    cairo_save(context);
    cairo_translate(context, x, y);
    cairo_scale(context, width, height);
    const cairo_matrix_t turn = upright_from_stored(orientation);
    cairo_transform(context, &turn);
    cairo_scale(context, 1.0 / size.width_px, 1.0 / size.height_px);
    cairo_set_source_surface(context, picture.get(), 0, 0);
    cairo_paint(context);
    cairo_restore(context);
}

std::vector<std::byte> PdfDocument::finish() {
    context_.reset();
    cairo_surface_finish(surface_.get());
    demand_success(cairo_surface_status(surface_.get()));
    surface_.reset();
    return std::move(*bytes_);
}

PictureSize jpeg_size(const std::vector<std::byte>& jpeg) {
    const std::shared_ptr<void> reader(tjInitDecompress(), tjDestroy);
    PictureSize size;
    int subsampling = 0;
    int colours = 0;
    if (!reader ||
        tjDecompressHeader3(reader.get(), reinterpret_cast<const unsigned char*>(jpeg.data()), jpeg.size(),
                            &size.width_px, &size.height_px, &subsampling, &colours) != 0)
        throw Failure(Fault::input, tr("marked picture"), "its bytes are no JPEG", "mark the photo again");
    return size;
}

}  // namespace frayhold::pack
