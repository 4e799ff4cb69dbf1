// SPDX-License-Identifier: Apache-2.0
#include "record/earlier_reading.h"

#include <optional>

#include "gauge/comparison.h"

namespace frayhold::record {
namespace {

std::optional<EarlierReading> newest_earlier(const CaseFile& file, const PhotoEntry& photo,
                                             const gauge::Reading& now) {
    for (auto hold = file.earlier.rbegin(); hold != file.earlier.rend(); ++hold)
        for (auto earlier = hold->photos.rbegin(); earlier != hold->photos.rend(); ++earlier) {
            if (!earlier->usable || earlier->role != photo.role) continue;
            if (const gauge::Reading* before = gauge::reading_of(earlier->readings, now.measurand))
                return EarlierReading{photo.number,
                                      now,
                                      hold->hold.number,
                                      earlier->number,
                                      earlier->added,
                                      *before,
                                      gauge::change_between(*before, now)};
        }
    return std::nullopt;
}

}  // namespace

std::vector<EarlierReading> earlier_readings(const CaseFile& file) {
    std::vector<EarlierReading> all;
    for (const PhotoEntry& photo : file.photos) {
        if (!photo.usable) continue;
        for (const gauge::Reading& now : photo.readings) {
            if (gauge::is_by_hand(now.measurand)) continue;
            if (const auto earlier = newest_earlier(file, photo, now)) all.push_back(*earlier);
        }
    }
    return all;
}

}  // namespace frayhold::record
