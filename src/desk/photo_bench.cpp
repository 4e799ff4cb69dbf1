// SPDX-License-Identifier: Apache-2.0
#include "desk/photo_bench.h"

#include <algorithm>
#include <mutex>

#include "desk/item_subject.h"
#include "desk/photo_measuring.h"
#include "gauge/follow.h"

namespace frayhold::desk {

struct PhotoBench::Last {
    std::mutex mutex;
    std::optional<gauge::Report> report;
    std::vector<gauge::HandMark> marks;
};

namespace {

bool same_marks(const std::vector<gauge::HandMark>& a, const std::vector<gauge::HandMark>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [](const gauge::HandMark& one, const gauge::HandMark& other) {
                          return one.measurand == other.measurand && one.points_px == other.points_px;
                      });
}

}  // namespace

PhotoBench::PhotoBench(photo::Photo photo, const record::Item& item,
                       std::shared_ptr<const criteria::Table> table)
    : photo_(std::move(photo)),
      usual_(usual_request(item, record::PhotoRole::close_up)),
      table_(std::move(table)),
      about_(criteria_about(item)),
      last_(std::make_unique<Last>()) {
    usual_.camera = camera_from_exif(photo_);
}

PhotoBench::~PhotoBench() = default;
PhotoBench::PhotoBench(PhotoBench&&) noexcept = default;
PhotoBench& PhotoBench::operator=(PhotoBench&&) noexcept = default;

MeasuredPhoto PhotoBench::measured(const Drawn& drawn) const {
    gauge::Request request = usual_;
    request.corners_px = drawn.corners_px;
    request.marks = drawn.marks;
    MeasuredPhoto measured = measure_photo(photo_, request, *table_, about_, false);
    const std::lock_guard lock(last_->mutex);
    last_->report = measured.report;
    last_->marks = drawn.marks;
    return measured;
}

std::optional<std::vector<gauge::Reading>> PhotoBench::followed(const Drawn& drawn) const {
    if (!drawn.corners_px) return std::nullopt;
    const std::lock_guard lock(last_->mutex);
    if (!last_->report || !last_->report->view || !same_marks(last_->marks, drawn.marks)) return std::nullopt;
    return value_or_throw(
        gauge::followed(*last_->report, usual_.camera, photo_.bgr.size(), *drawn.corners_px));
}

std::vector<gauge::Reading> readings_of(const Drawn& drawn, const gauge::Report& report) {
    const std::size_t count = drawn.marks.size();
    if (report.readings.size() < count) return {};
    return {report.readings.end() - static_cast<std::ptrdiff_t>(count), report.readings.end()};
}

}  // namespace frayhold::desk
