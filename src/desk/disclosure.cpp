// SPDX-License-Identifier: Apache-2.0
#include "desk/disclosure.h"

#include <fmt/format.h>

#include <set>

#include "language/recorded.h"
#include "language/tr.h"
#include "photo/decode_apart.h"
#include "record/photo_entry.h"

namespace frayhold::desk {
namespace {

std::string joined(const std::vector<std::string>& parts) {
    return fmt::format("{}", fmt::join(parts, ", "));
}

void add_names(std::set<std::string>& names, const std::vector<record::Finding>& findings,
               const std::optional<record::Verdict>& verdict) {
    for (const record::Finding& finding : findings) names.insert(finding.found_by);
    if (verdict) names.insert({verdict->by, verdict->witness});
}

std::vector<std::string> names_in(const record::CaseFile& file, const std::string& who) {
    std::set<std::string> names{who, file.hold.opened_by};
    add_names(names, file.findings, file.verdict);
    for (const record::PhotoEntry& photo : file.photos) names.insert(photo.added_by);
    for (const record::PhotoMarks& marks : file.marks) names.insert(marks.made_by);
    for (const record::WaivedView& waived : file.waived) names.insert(waived.waived_by);
    for (const record::Query& query : file.queries) names.insert({query.made_by, query.sent_by});
    for (const record::Reply& reply : file.replies) {
        names.insert(reply.added_by);
        if (reply.answer) names.insert(reply.answer->entered_by);
    }
    for (const record::EarlierHold& earlier : file.earlier) {
        names.insert(earlier.hold.opened_by);
        add_names(names, earlier.findings, earlier.verdict);
    }
    for (const record::JournalEntry& entry : file.journal) names.insert(entry.who);
    names.erase("");
    return {names.begin(), names.end()};
}

DisclosedLine item_line(const record::Item& item) {
    std::vector<std::string> parts{trf("mark {}", item.mark)};
    if (!item.maker.empty()) parts.push_back(trf("maker {}", item.maker));
    if (!item.model.empty()) parts.push_back(trf("model {}", item.model));
    if (!item.serial.empty()) parts.push_back(trf("serial number {}", item.serial));
    if (!item.batch.empty()) parts.push_back(trf("batch {}", item.batch));
    if (item.made || item.bought || item.first_used) parts.push_back(tr("when made, bought and first used"));
    return {tr("The item"), joined(parts)};
}

void add_photo(Disclosure& out, const record::PhotoEntry& entry, const KeptBytes& bytes) {
    const std::string what = trf("Photo {}, {}", entry.number, record::words_for(entry.role));
    if (!entry.usable) {
        out.kept_back.push_back({what, tr("the whole photo: it did not pass its quality check")});
        return;
    }
    const photo::ExifFacts exif = value_or_throw(photo::exif_facts_apart(bytes(entry.sha256), what));
    std::vector<std::string> parts{tr("the picture"), trf("its file name ({})", entry.file_name)};
    if (!exif.make.empty() || !exif.model.empty())
        parts.push_back(trf("the camera ({})", exif.make + (exif.make.empty() ? "" : " ") + exif.model));
    if (!exif.taken.empty()) parts.push_back(trf("when it was taken ({})", exif.taken));
    if (!entry.readings.empty())
        parts.push_back(
            trn("{} reading with uncertainty", "{} readings with uncertainty", entry.readings.size()));
    out.sent.push_back({what, joined(parts)});
    std::vector<std::string> back;
    if (exif.has_position) back.push_back(tr("where it was taken"));
    if (exif.has_owner) back.push_back(tr("the owner's name"));
    back.push_back(tr("everything else the file holds beside the picture"));
    out.kept_back.push_back({what, joined(back)});
}

}  // namespace

Disclosure what_leaves(const record::CaseFile& file, const KeptBytes& bytes, const std::string& who) {
    Disclosure out;
    out.names = names_in(file, who);
    out.sent.push_back(item_line(file.item));
    out.sent.push_back({tr("The hold"), trf("{}, opened {}, your words: {}", file.hold.number,
                                            to_text(file.hold.opened), tr_recorded(file.hold.seen))});
    if (!file.findings.empty())
        out.sent.push_back(
            {tr("Findings"), trn("{} finding by hand or eye, with your words",
                                 "{} findings by hand or eye, with your words", file.findings.size())});
    for (const record::PhotoEntry& photo : file.photos) add_photo(out, photo, bytes);
    for (const record::WaivedView& waived : file.waived)
        out.sent.push_back({trf("No photo: {}", record::words_for(waived.role)), waived.reason});
    if (!file.queries.empty() || !file.replies.empty())
        out.sent.push_back({tr("Post so far"),
                            // Translators: "2 queries and 1 reply".
                            trf("{} and {}", trn("{} query", "{} queries", file.queries.size()),
                                trn("{} reply", "{} replies", file.replies.size()))});
    if (file.verdict) out.sent.push_back({tr("The verdict"), tr("with its reason")});
    if (!file.earlier.empty())
        out.sent.push_back({tr("Earlier holds of this item"),
                            trn("{} hold, with findings and verdicts", "{} holds, with findings and verdicts",
                                file.earlier.size())});
    out.sent.push_back({tr("The journal of this hold"), trn("{} entry", "{} entries", file.journal.size())});
    out.sent.push_back({tr("Names"), joined(out.names)});
    out.kept_back.push_back({tr("The item"), tr("who uses it, who sold it, its place, kit and note")});
    return out;
}

}  // namespace frayhold::desk
