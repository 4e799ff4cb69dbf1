// SPDX-License-Identifier: Apache-2.0
#include "desk/store_care.h"

#include <fstream>
#include <set>
#include <system_error>

#include "desk/in_language.h"
#include "desk/inside.h"
#include "language/tr.h"
#include "record/item_csv.h"
#include "record/json.h"
#include "store/backup_file.h"
#include "store/case_file.h"
#include "store/checks.h"
#include "store/items.h"
#include "store/journal.h"

// Backup, restore, and everything in formats that need no Frayhold.
namespace frayhold::desk {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;
using Transaction = store::Transaction;

constexpr const char* read_me = tr_later(
    "What a Frayhold store holds, in formats that need no Frayhold.\n"
    "\n"
    "items.csv        the register (RFC 4180, UTF-8)\n"
    "items.json       the register with lives and checks (RFC 8259, UTF-8)\n"
    "holds/*.json     each hold: findings, photos with readings, post, verdict\n"
    "journal.jsonl    every journal entry on a line of its own, with its hash\n"
    "originals/*      photos, mark-ups and messages, each under its SHA-256\n"
    "\n"
    "Lengths are in millimetres, dates and times in ISO 8601, times in UTC.\n"
    "The maker's instructions, local law and a competent person come first.\n");

// A new folder and what is written into it; all of it goes again unless it is finished.
class ExportFolder {
  public:
    explicit ExportFolder(const fs::path& folder) : folder_(folder) {
        std::error_code error;
        if (fs::exists(folder, error))
            throw Failure(Fault::input, folder.string(), "there is something here already",
                          "name a folder that does not exist yet");
        for (const char* part : {"holds", "originals"})
            if (!fs::create_directories(folder / part, error)) refuse(error.message());
    }
    ExportFolder(const ExportFolder&) = delete;
    ExportFolder& operator=(const ExportFolder&) = delete;
    ~ExportFolder() {
        std::error_code ignored;
        if (!finished_) fs::remove_all(folder_, ignored);
    }

    void write(const fs::path& name, std::string_view text) const {
        std::ofstream out(folder_ / name, std::ios::binary);
        out.write(text.data(), static_cast<std::streamsize>(text.size()));
        out.close();
        if (!out) refuse(tr("the disk refused it"));
    }
    void write(const fs::path& name, const std::vector<std::byte>& bytes) const {
        write(name, std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()));
    }
    [[nodiscard]] std::ofstream open(const fs::path& name) const {
        return std::ofstream(folder_ / name, std::ios::binary);
    }
    void close(std::ofstream& out) const {
        out.close();
        if (!out) refuse(tr("the disk refused it"));
    }
    void finish() { finished_ = true; }

  private:
    [[noreturn]] void refuse(const std::string& why) const {
        throw Failure(Fault::outside, folder_.string(), trf("the export cannot be written: {}", why),
                      "make room, or name another folder");
    }

    fs::path folder_;
    bool finished_ = false;
};

// Words in what a program reads are English, whoever exports it.
template <class Make>
std::string text_in_english(const Make& make) {
    constexpr int indent = 1;
    return in_english(make).dump(indent, ' ', false, Json::error_handler_t::replace) + "\n";
}

Json items_json(const store::Database& database, const std::vector<record::Item>& items, Date today) {
    Json list = Json::array();
    for (const record::Item& item : items) {
        Json entry = record::as_json(item);
        entry["life"] = record::as_json(record::life_end(item, today));
        entry["checks"] = Json::array();
        for (const record::ItemCheck& check : store::checks_of_item(database, item.mark, 0))
            entry["checks"].push_back(record::as_json(check));
        list.push_back(std::move(entry));
    }
    return list;
}

void name_originals(const record::CaseFile& file, std::set<std::string>& originals) {
    for (const record::PhotoEntry& photo : file.photos) {
        originals.insert(photo.sha256);
        if (!photo.markup_sha256.empty()) originals.insert(photo.markup_sha256);
    }
    for (const record::Query& query : file.queries) originals.insert(query.sha256);
    for (const record::Reply& reply : file.replies) {
        originals.insert(reply.sha256);
        for (const record::Attachment& attachment : reply.attachments) originals.insert(attachment.sha256);
    }
}

ExportReport export_items(const store::Store& store, const std::vector<record::Item>& items,
                          const fs::path& folder, Date today, const std::set<std::string>* subjects) {
    ExportFolder out(folder);
    ExportReport report;
    std::set<std::string> originals;
    out.write("README.txt", tr_word(read_me));
    out.write("items.csv", record::items_as_csv(items));
    out.write("items.json", text_in_english([&] { return items_json(store.database(), items, today); }));
    report.items = static_cast<int>(items.size());
    for (const record::Item& item : items)
        for (const record::EarlierHold& hold : store::earlier_holds(store.database(), item.mark)) {
            const auto file = store::case_file(store.database(), hold.hold.number);
            if (!file) continue;
            out.write(fs::path("holds") / (hold.hold.number + ".json"),
                      text_in_english([&] { return record::as_json(*file); }));
            name_originals(*file, originals);
            ++report.holds;
        }
    std::ofstream journal = out.open("journal.jsonl");
    store::each_journal_entry(store.database(), [&](const record::JournalEntry& entry) {
        if (subjects == nullptr || subjects->contains(entry.subject))
            journal << record::as_json(entry).dump(-1, ' ', false, Json::error_handler_t::replace) << '\n';
    });
    out.close(journal);
    for (const std::string& sha256 : originals) {
        out.write(fs::path("originals") / sha256, store.blobs().read(sha256));
        ++report.originals;
    }
    out.finish();
    return report;
}

}  // namespace

CopyReport Desk::backup(const fs::path& to) const {
    if (to.extension() == ".zip") return store::copy_store_to_file(inside_->store, to, inside_->now());
    return store::copy_store(inside_->store, to, inside_->now());
}

CopyReport restore(const fs::path& backup, const fs::path& folder, Time now) {
    std::error_code error;
    if (fs::is_regular_file(backup, error)) return store::restore_backup_file(backup, folder, now);
    return store::restore_backup(backup, folder, now);
}

ExportReport Desk::export_all(const fs::path& folder) const {
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    return export_items(inside_->store, store::all_items(inside_->database()), folder, today(), nullptr);
}

ExportReport Desk::export_item(const std::string& mark, const fs::path& folder) const {
    const ItemHistory history = item_history(mark);
    std::set<std::string> subjects;
    for (const record::JournalEntry& entry : history.journal) subjects.insert(entry.subject);
    const Transaction snapshot(inside_->database(), Transaction::Purpose::read);
    return export_items(inside_->store, {history.item}, folder, today(), &subjects);
}

}  // namespace frayhold::desk
