// SPDX-License-Identifier: Apache-2.0
#include "fuzz/entries.h"

#include <array>

namespace frayhold::fuzz {

std::span<const Entry> all_entries() {
    static constexpr std::array<Entry, 7> entries{{{"photo", decode_photo},
                                                   {"exif", read_exif},
                                                   {"gauge", gauge_picture},
                                                   {"mail", read_mail},
                                                   {"csv", read_csv},
                                                   {"annotations", read_annotations},
                                                   {"http", read_http_request}}};
    return entries;
}

}  // namespace frayhold::fuzz
