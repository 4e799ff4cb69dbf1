// SPDX-License-Identifier: Apache-2.0
#include "desk/disclosure.h"

#include <fmt/format.h>

#include <set>

#include "photo/decode_apart.h"
#include "record/photo_entry.h"

namespace frayhold::desk {
namespace {

std::string joined(const std::vector<std::string>& parts) {
    return fmt::format("{}", fmt::join(parts, ", "));
}

std::string counted(std::size_t count, const std::string& one, const std::string& more) {
    return fmt::format("{} {}", count, count == 1 ? one : more);
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
    std::vector<std::string> parts{"mark " + item.mark};
    for (const auto& [name, value] :
         {std::pair("maker", item.maker), std::pair("model", item.model),
          std::pair("serial number", item.serial), std::pair("batch", item.batch)})
        if (!value.empty()) parts.push_back(std::string(name) + " " + value);
    if (item.made || item.bought || item.first_used) parts.emplace_back("when made, bought and first used");
    return {"The item", joined(parts)};
}

void add_photo(Disclosure& out, const record::PhotoEntry& entry, const KeptBytes& bytes) {
    const std::string what = fmt::format("Photo {}, {}", entry.number, record::words_for(entry.role));
    if (!entry.usable) {
        out.kept_back.push_back({what, "the whole photo: it did not pass its quality check"});
        return;
    }
    const photo::ExifFacts exif = value_or_throw(photo::exif_facts_apart(bytes(entry.sha256), what));
    std::vector<std::string> parts{"the picture", "its file name (" + entry.file_name + ")"};
    if (!exif.make.empty() || !exif.model.empty())
        parts.push_back(
            fmt::format("the camera ({}{}{})", exif.make, exif.make.empty() ? "" : " ", exif.model));
    if (!exif.taken.empty()) parts.push_back("when it was taken (" + exif.taken + ")");
    if (!entry.readings.empty())
        parts.push_back(counted(entry.readings.size(), "reading", "readings") + " with uncertainty");
    out.sent.push_back({what, joined(parts)});
    std::vector<std::string> back;
    if (exif.has_position) back.emplace_back("where it was taken");
    if (exif.has_owner) back.emplace_back("the owner's name");
    back.emplace_back("everything else the file holds beside the picture");
    out.kept_back.push_back({what, joined(back)});
}

}  // namespace

Disclosure what_leaves(const record::CaseFile& file, const KeptBytes& bytes, const std::string& who) {
    Disclosure out;
    out.names = names_in(file, who);
    out.sent.push_back(item_line(file.item));
    out.sent.push_back({"The hold", fmt::format("{}, opened {}, your words: {}", file.hold.number,
                                                to_text(file.hold.opened), file.hold.seen)});
    if (!file.findings.empty())
        out.sent.push_back({"Findings", counted(file.findings.size(), "finding", "findings") +
                                            " by hand or eye, with your words"});
    for (const record::PhotoEntry& photo : file.photos) add_photo(out, photo, bytes);
    for (const record::WaivedView& waived : file.waived)
        out.sent.push_back({fmt::format("No photo: {}", record::words_for(waived.role)), waived.reason});
    if (!file.queries.empty() || !file.replies.empty())
        out.sent.push_back({"Post so far", counted(file.queries.size(), "query", "queries") + " and " +
                                               counted(file.replies.size(), "reply", "replies")});
    if (file.verdict) out.sent.push_back({"The verdict", "with its reason"});
    if (!file.earlier.empty())
        out.sent.push_back({"Earlier holds of this item",
                            counted(file.earlier.size(), "hold", "holds") + ", with findings and verdicts"});
    out.sent.push_back({"The journal of this hold", counted(file.journal.size(), "entry", "entries")});
    out.sent.push_back({"Names", joined(out.names)});
    out.kept_back.push_back({"The item", "who uses it, who sold it, its place, kit and note"});
    return out;
}

}  // namespace frayhold::desk
