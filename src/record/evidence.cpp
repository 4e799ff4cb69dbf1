// SPDX-License-Identifier: Apache-2.0
#include "record/evidence.h"

#include <algorithm>

#include "criteria/advice.h"
#include "language/recorded.h"
#include "language/tr.h"

namespace frayhold::record {
namespace {

bool passes(const PhotoEntry& photo) {
    return photo.usable && (!needs_card(photo.role) || photo.card_found);
}

std::string why_not(const PhotoEntry& photo) {
    if (!photo.reasons.empty()) return tr_recorded(photo.reasons.front());
    return photo.usable ? tr("the card is not seen in it") : tr("it did not pass its quality check");
}

// What a criterion asked for a second view of; empty where none did.
std::string second_view_of(const CaseFile& file) {
    for (const AdviceEntry& advice : file.all_advice())
        if (advice.second_view) return criteria::because_words(advice.because);
    return "";
}

RequiredView view_of(const CaseFile& file, PhotoRole role) {
    const std::string view = words_for(role);
    const PhotoEntry* last = nullptr;
    for (const PhotoEntry& photo : file.photos) {
        if (photo.role != role) continue;
        if (passes(photo))
            return {role, ViewState::present, trf("{}: photo {} ({})", view, photo.number, photo.file_name)};
        last = &photo;
    }
    const auto waived = std::find_if(file.waived.begin(), file.waived.end(),
                                     [&](const WaivedView& other) { return other.role == role; });
    if (waived != file.waived.end())
        return {role, ViewState::waived, trf("{}: cannot be had ({})", view, waived->reason)};
    if (last != nullptr)
        return {role, ViewState::unusable,
                trf("photo {} of {} cannot be used: {}", last->number, view, why_not(*last))};
    return {role, ViewState::missing, trf("no photo of {} yet", view)};
}

}  // namespace

std::vector<RequiredView> evidence_list(const CaseFile& file) {
    std::vector<RequiredView> list;
    for (const PhotoRole role :
         {PhotoRole::label, PhotoRole::whole_item, PhotoRole::close_up, PhotoRole::other_side})
        list.push_back(view_of(file, role));
    if (const std::string because = second_view_of(file); !because.empty()) {
        RequiredView second = view_of(file, PhotoRole::second_view);
        second.words = trf("{}, asked for because of: {}", second.words, because);
        list.push_back(second);
    }
    return list;
}

std::vector<std::string> missing_evidence(const CaseFile& file) {
    std::vector<std::string> words;
    for (const RequiredView& view : evidence_list(file))
        if (view.state == ViewState::missing || view.state == ViewState::unusable)
            words.push_back(view.words);
    return words;
}

}  // namespace frayhold::record
