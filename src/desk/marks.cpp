// SPDX-License-Identifier: Apache-2.0

#include <algorithm>

#include "desk/annotations.h"
#include "desk/inside.h"
#include "language/tr.h"
#include "record/json.h"
#include "record/rules.h"
#include "store/photo_marks.h"

// What a person draws on a photo.
namespace frayhold::desk {
namespace {

const record::PhotoEntry& photo_of(const record::CaseFile& file, int number) {
    const auto found = std::find_if(file.photos.begin(), file.photos.end(),
                                    [&](const record::PhotoEntry& photo) { return photo.number == number; });
    if (found != file.photos.end()) return *found;
    throw Failure(Fault::input, trf("hold {}", file.hold.number), trf("there is no photo {}", number),
                  "look up the number among the hold's photos");
}

void check_words(const Drawn& drawn) {
    for (const gauge::HandMark& mark : drawn.marks) need_plain_text(tr("label"), mark.label);
    for (const PinnedWords& pin : drawn.pins)
        need_words(tr("words pinned to the photo"), pin.words, tr("say what is seen there"));
}

}  // namespace

record::PhotoMarks Desk::save_marks(const std::string& hold, int photo, const Drawn& drawn,
                                    const std::vector<gauge::Reading>& readings) {
    inside_->need_person();
    check_words(drawn);
    const Time now = inside_->now();
    store::Transaction transaction(inside_->database(), store::Transaction::Purpose::write);
    const record::CaseFile file = inside_->case_file(hold);
    need_allowed(record::may_add_evidence(file));
    record::PhotoMarks marks;
    marks.hold = hold;
    marks.photo = photo;
    marks.annotations = annotation_page(photo_of(file, photo), drawn, readings, inside_->setup.who, now);
    marks.made_by = inside_->setup.who;
    marks.made = now;
    marks = store::insert_photo_marks(inside_->database(), std::move(marks));
    inside_->tell_journal(now, "photo.mark", hold, record::as_json(marks));
    transaction.commit();
    return marks;
}

}  // namespace frayhold::desk
