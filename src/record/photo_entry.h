// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "gauge/reading.h"
#include "record/advice_entry.h"
#include "units/date.h"

namespace frayhold::record {

// What a photo is for. The first four make the evidence list of every hold.
enum class PhotoRole { label, whole_item, close_up, other_side, second_view };

// A photo of one hold. The picture itself is kept once, under its SHA-256, and never altered.
struct PhotoEntry {
    int number = 0;  // 1, 2, 3, … within its hold; given by the store
    std::string hold;
    PhotoRole role = PhotoRole::close_up;
    std::string sha256;     // of the original bytes, 64 lower-case hex digits
    std::string file_name;  // as it was called when it came in; never used as a path
    std::int64_t size_bytes = 0;
    std::string taken;  // the camera's own clock, "2026-02-28T09:30:00"; empty where it wrote none
    bool usable = false;
    std::vector<std::string> reasons;  // why it is not usable, each with what to do
    bool card_found = false;
    std::string report_json;  // the whole measured report, as `frayhold gauge --json` gives it
    std::vector<gauge::Reading> readings;
    std::vector<AdviceEntry> advice;
    std::string markup_sha256;  // of the marked-up picture; empty where none was made
    std::string added_by;
    Time added{};
};

// A required view that cannot be had, and why: "label worn off".
struct WaivedView {
    std::string hold;
    PhotoRole role = PhotoRole::label;
    std::string reason;
    std::string waived_by;
    Time waived{};

    bool operator==(const WaivedView&) const = default;
};

[[nodiscard]] std::string_view name_of(PhotoRole role);
[[nodiscard]] std::optional<PhotoRole> photo_role_named(std::string_view name);
[[nodiscard]] std::string words_for(PhotoRole role);
[[nodiscard]] const std::vector<PhotoRole>& all_photo_roles();

// Close views are measured against the card; a label or the whole item is only looked at.
[[nodiscard]] bool needs_card(PhotoRole role);

}  // namespace frayhold::record
