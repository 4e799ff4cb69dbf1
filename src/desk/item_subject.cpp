// SPDX-License-Identifier: Apache-2.0
#include "desk/item_subject.h"

namespace frayhold::desk {

criteria::Subject criteria_subject(record::Kind kind) {
    switch (kind) {
        case record::Kind::rope_low_stretch:
        case record::Kind::rope_dynamic:
        case record::Kind::accessory_cord:
            return criteria::Subject::rope;
        case record::Kind::lanyard:
        case record::Kind::cows_tail:
            return criteria::Subject::lanyard;
        case record::Kind::sewn_sling:
        case record::Kind::harness:
        case record::Kind::wear_sleeve:
            break;
    }
    return criteria::Subject::webbing;
}

criteria::About criteria_about(const record::Item& item) {
    return {.subject = criteria_subject(item.kind),
            .maker = item.maker,
            .model = item.model,
            .maker_can_be_asked = true};
}

gauge::Subject gauge_subject(record::Kind kind) {
    // Lanyards and cow's tails are mostly rope; for one of webbing the person says so in the request.
    return criteria_subject(kind) == criteria::Subject::webbing ? gauge::Subject::webbing
                                                                : gauge::Subject::rope;
}

}  // namespace frayhold::desk
