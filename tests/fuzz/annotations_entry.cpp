// SPDX-License-Identifier: Apache-2.0
#include "desk/annotations.h"
#include "fuzz/demand.h"

namespace frayhold::fuzz {

void read_annotations(Bytes bytes) {
    const auto drawn = desk::drawn_from_annotations(text_of(bytes));
    if (!drawn) return demand_words(drawn.error());
    std::vector<gauge::Reading> readings;
    const std::string page = desk::annotation_page({}, *drawn, readings, "Ida Fenwright", Time{});
    const auto again = desk::drawn_from_annotations(page);
    demand(again.has_value() && again->marks.size() == drawn->marks.size() &&
               again->pins.size() == drawn->pins.size(),
           "what is written can be read");
}

}  // namespace frayhold::fuzz
