// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "criteria/lives.h"
#include "criteria/table.h"
#include "desk/asking.h"
#include "desk/checking.h"
#include "desk/drawn.h"
#include "desk/forgetting.h"
#include "desk/importing.h"
#include "desk/listing.h"
#include "desk/measuring.h"
#include "desk/posting.h"
#include "desk/store_care.h"
#include "language/languages.h"
#include "record/case_file.h"
#include "record/device.h"
#include "record/evidence.h"
#include "record/life.h"
#include "record/maker.h"
#include "record/rules.h"
#include "store/location.h"
#include "units/date.h"

namespace frayhold::desk {

struct Setup {
    // The store's folder, or a server's database. It is made where it does not exist, unless nobody is at the
    // desk: who only reads must name a store that is there.
    store::Location store;
    std::string who;  // the person at the desk, in every journal entry; may be empty for reading only
    std::function<Time()> clock;                       // the system's clock where empty
    std::shared_ptr<const criteria::Table> criteria;   // needed by findings only
    std::shared_ptr<const criteria::LifeTable> lives;  // makers' lives; none are known where empty
    PhotoMeasurer measure;                             // needed by add_photo only
    QueryComposer compose;                             // needed by make_query only
    ReplyReader read_reply;                            // needed by what reads mail only
    // For letters to a maker, whose papers are made in the letter's language; in English where empty.
    std::shared_ptr<language::Languages> languages;
    std::shared_ptr<store::FileCalls> files;  // the system's where empty
};

// What a competent person decides. `by` is that person's name.
struct VerdictOrder {
    record::VerdictKind kind = record::VerdictKind::retire_and_destroy;
    std::string by;
    std::string reason;
    std::string limit;
    std::vector<record::Part> parts;
    std::optional<Millimetres> scrapped;
    std::string witness;
};

// The actions a person can do: each is one transaction together with its journal entry, so that it is done
// whole or not at all. Nothing is ever erased. All of them throw Failure:
//   Fault::input    something named does not exist, or a field or file cannot be used;
//   Fault::refused  a rule of the hold forbids it (record/rules.h);
//   Fault::outside  the store cannot be read or written.
// Not for use by two threads at once; any number of desks, in any number of processes, may share one store.
class Desk {
  public:
    explicit Desk(Setup setup);
    ~Desk();
    Desk(Desk&&) noexcept;
    Desk& operator=(Desk&&) noexcept;

    // ---- Items ----
    // A new item comes into service; its status, limit and parent are set here whatever the argument says.
    // Where the maker's table gives a shorter life than the argument, that counts.
    record::Item add_item(const record::Item& item);
    // `change` alters the fields it means to; mark, status, limit and parent stay as they are. Of the life
    // that comes out and the maker's table the shorter counts.
    record::Item edit_item(const std::string& mark, const std::function<void(record::Item&)>& change);
    [[nodiscard]] record::Item item(const std::string& mark) const;
    [[nodiscard]] ItemHistory item_history(const std::string& mark) const;
    [[nodiscard]] std::vector<record::Item> find_items(const ItemFilter& filter) const;

    // Items that are not retired and whose life ends by a day or has an unknown end: unknown ends first, then
    // the earliest.
    [[nodiscard]] std::vector<LifeLine> ending_lives(const LifeFilter& filter) const;
    // What was destroyed, the latest first, with who decided and who saw it.
    [[nodiscard]] std::vector<DestroyedItem> destroyed_items(int limit, int offset = 0) const;

    // ---- Items in and out as CSV (RFC 4180) ----
    // What import_items would do; changes nothing. Failure (Fault::input) where the text is no CSV, has no
    // column of marks, or two columns for one field.
    [[nodiscard]] ImportPlan preview_import(const std::string& csv, const ColumnMap& columns) const;
    // All rows or none.
    ImportPlan import_items(const std::string& csv, const ColumnMap& columns);

    // ---- Kits ----
    // How many items of a kind the kit must have in service; 0 for none.
    void set_kit_need(const std::string& kit, record::Kind kind, int count);
    // Failure (Fault::input) where no item belongs to it and nothing is needed.
    [[nodiscard]] KitState kit(const std::string& name) const;
    [[nodiscard]] std::vector<KitState> kits(int limit, int offset = 0) const;
    [[nodiscard]] std::vector<std::string> kit_names(int limit) const;

    // ---- Checks ----
    [[nodiscard]] std::vector<DueCheck> due_checks(const DueFilter& filter) const;
    [[nodiscard]] std::vector<CheckInterval> check_intervals() const;
    // Empty months: the usual interval again (record/check.h). Local law is the user's to set.
    void set_check_interval(record::Kind kind, record::UseRate use, std::optional<int> months);
    // Of every item in service that the order names. Refused where there is none.
    RoundView start_round(const RoundOrder& order);
    // The latest first.
    [[nodiscard]] std::vector<record::CheckRound> check_rounds(bool running_only, int limit) const;
    [[nodiscard]] RoundView check_round(const std::string& round) const;
    [[nodiscard]] CheckSheet check_sheet(const std::string& round, const std::string& mark) const;
    record::ItemCheck begin_check(const std::string& round, const std::string& mark);
    record::ItemCheck do_step(const std::string& round, const std::string& mark, record::CheckStep step,
                              const std::string& words);
    // Rope only. `from` is where the stretches so far end when empty.
    record::ItemCheck felt_stretch(const std::string& round, const std::string& mark,
                                   std::optional<Millimetres> from, Millimetres to);
    record::ItemCheck add_check_finding(const std::string& round, const std::string& mark,
                                        record::Finding finding);
    record::ItemCheck pause_check(const std::string& round, const std::string& mark);
    record::ItemCheck resume_check(const std::string& round, const std::string& mark);
    // The result is the word of the person at the desk. With hold and retire a hold is opened with the
    // check's findings; with retire that person's verdict ends it in the same transaction.
    record::ItemCheck finish_check(const std::string& round, const std::string& mark,
                                   const CheckOrder& order);
    // Items that still wait are left out. Refused while one is under the hands.
    record::CheckRound end_round(const std::string& round);

    // ---- Holds ----
    // The item goes on hold in the same transaction. `seen` says why and must not be empty.
    record::Hold open_hold(const std::string& mark, const std::string& seen);
    [[nodiscard]] std::vector<HoldLine> find_holds(const HoldFilter& filter) const;
    // How many there are of each state among those the filter's text fits.
    [[nodiscard]] HoldCounts count_holds(const std::string& text) const;
    [[nodiscard]] record::CaseFile case_file(const std::string& hold) const;

    // ---- Evidence ----
    // Each of these moves an open hold to 'evidence', and to 'ready' as soon as the list is complete.
    // number, hold, found_by and found are set here; found_by is kept where the argument names someone.
    record::Finding add_finding(const std::string& hold, record::Finding finding);
    record::PhotoEntry add_photo(const std::string& hold, const PhotoOrder& order);
    // Keeps what was drawn on a photo in place of what was drawn before. `readings` are those of its marks,
    // in their order.
    record::PhotoMarks save_marks(const std::string& hold, int photo, const Drawn& drawn,
                                  const std::vector<gauge::Reading>& readings);
    record::WaivedView waive_view(const std::string& hold, record::PhotoRole role, const std::string& reason);
    // Refused with the list of what is missing; no change where the hold is already 'ready' or further.
    record::Hold mark_ready(const std::string& hold);

    // ---- Asking the maker ----
    // What the order leaves open is taken from the maker's book, or else is what is usual.
    record::Query make_query(const std::string& hold, const QueryOrder& order);
    // Records that the query went out, byte for byte as made. `sent` is now where empty.
    record::Query mark_sent(const std::string& hold, int query, std::optional<Time> sent = std::nullopt);
    // `hold` may be empty: the reply is then placed by what it says (post/reply_match.h). The same message
    // again changes nothing and gives back the reply as it is kept.
    record::Reply add_reply(const std::string& hold, std::span<const std::byte> message,
                            const std::string& name);
    // Words that came otherwise: pasted, or noted of a call. `from` says whose they are.
    record::Reply add_words(const std::string& hold, const WordsOrder& order);
    record::Reply enter_answer(const std::string& hold, int reply, record::AnswerEntry answer);
    // Queries whose reply is due on or before the desk's today and still without an answer, longest overdue
    // first; at most so many, all for 0.
    [[nodiscard]] std::vector<DueReply> overdue_replies(int limit = 0, int offset = 0) const;
    // Every reply that is awaited, whenever it is due; the first due first.
    [[nodiscard]] std::vector<DueReply> awaited_replies() const;

    // ---- The maker's book ----
    record::Maker add_maker(const record::Maker& maker);
    // `change` alters the fields it means to; the name stays.
    record::Maker edit_maker(const std::string& name, const std::function<void(record::Maker&)>& change);
    [[nodiscard]] record::Maker maker(const std::string& name) const;
    [[nodiscard]] std::vector<record::Maker> makers() const;
    // The entry for the maker of the item on hold; empty where the book has none.
    [[nodiscard]] std::optional<record::Maker> maker_of(const std::string& hold) const;

    // ---- Outbox ----
    // Puts a query that was made into the outbox, byte for byte. Nothing goes out here.
    record::Query queue_query(const std::string& hold, int query);
    // Tries once to send every query whose time has come, or only the one named. Each step is in the store
    // before the next byte goes out (record/posting.h). Refused while another program carries this store's
    // post.
    OutboxRun run_outbox(const MessageSender& send, const std::optional<OutboxQuery>& only = std::nullopt);
    // What is in the outbox: what still waits or needs a person, or all that ever was.
    [[nodiscard]] std::vector<OutboxLine> outbox(bool all) const;
    // Takes a waiting query back.
    record::Query withdraw_query(const std::string& hold, int query);
    // What a person says of a query that is unsure or refused.
    record::Query settle_query(const std::string& hold, int query, PostDecision decision);

    // ---- Inbox ----
    // Keeps every mail that is new in the folder, each in one transaction with how far the folder is read:
    // with its hold, or unplaced for a person.
    InboxRun fetch_replies(const ReplyFolder& folder);
    [[nodiscard]] std::vector<record::UnplacedMail> unplaced_mails(bool also_settled = false) const;
    record::Reply place_mail(int number, const std::string& hold);
    record::UnplacedMail set_mail_aside(int number, const std::string& reason);

    // A kept message as a person reads it: a query as it goes out, or a reply.
    [[nodiscard]] ReadReply read_message(const std::string& sha256) const;

    // ---- Verdict ----
    record::Verdict give_verdict(const std::string& hold, const VerdictOrder& order);

    // ---- A notice about a batch ----
    // What batch_hold would do; changes nothing.
    [[nodiscard]] BatchPlan preview_batch_hold(const BatchNotice& notice) const;
    // One hold for each item that can be held, all in one transaction.
    BatchPlan batch_hold(const BatchNotice& notice);

    // ---- Phones at the bench ----
    // `secret` is what the phone will show each time; only its hash is kept.
    record::Device pair_device(const std::string& name, const std::string& holder, record::Role role,
                               const std::string& secret);
    record::Device revoke_device(int number);
    [[nodiscard]] std::vector<record::Device> devices() const;
    // The phone with this secret, unless it is revoked.
    [[nodiscard]] std::optional<record::Device> paired_device(const std::string& secret) const;

    // ---- Journal and store ----
    [[nodiscard]] std::vector<record::JournalEntry> journal(const JournalFilter& filter) const;
    // The bytes kept under a SHA-256: a photo, a mark-up, a message, an attachment. Checked against it as
    // read.
    [[nodiscard]] std::vector<std::byte> kept_bytes(const std::string& sha256) const;
    // `head`: a journal head printed earlier, on a pack say; empty where none is to be proved.
    [[nodiscard]] VerifyReport verify(const std::string& head = "") const;

    // Takes a person's name out of every row and journal entry, for good; the journal stays proved. Kept
    // messages and pictures stay as they are. Refused where the person at the desk is the one.
    Forgotten forget_person(const std::string& name);

    // A copy of the whole store in a folder, or a file FILE.zip, that does not exist yet, made while others
    // go on working and verified as written. Failure (Fault::outside), or (Fault::input) where there is
    // something; nothing is left behind then.
    CopyReport backup(const std::filesystem::path& to) const;
    // Everything, or one item, as CSV, JSON and files that need no Frayhold, into a folder that does not
    // exist yet.
    ExportReport export_all(const std::filesystem::path& folder) const;
    ExportReport export_item(const std::string& mark, const std::filesystem::path& folder) const;
    // Counts for the charts of what the store shows.
    [[nodiscard]] Figures figures() const;

    [[nodiscard]] Time now() const;
    // The clock's today in UTC, by which life ends and replies fall due.
    [[nodiscard]] Date today() const;

    // For the files of this folder only.
    struct Inside;

  private:
    std::unique_ptr<Inside> inside_;
};

}  // namespace frayhold::desk
