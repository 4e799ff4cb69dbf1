// SPDX-License-Identifier: Apache-2.0
#include "record/finding.h"

#include "language/tr.h"
#include "record/item.h"

namespace frayhold::record {

std::string place_words(const Finding& finding) {
    std::string out;
    if (finding.station) out = trf("at {}", length_words(*finding.station));
    if (!finding.side.empty()) out += (out.empty() ? "" : ", ") + finding.side;
    return out;
}

}  // namespace frayhold::record
