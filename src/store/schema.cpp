// SPDX-License-Identifier: Apache-2.0
#include "store/schema.h"

#include <iterator>

#include "language/tr.h"
#include "store/items.h"
#include "store/row_seal.h"
#include "store/search.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

// What was recorded stays: no program may erase it, not even this one.
std::string never_deleted(const Dialect& in, const std::string& name) {
    return in.refuse(name + "_never_deleted", "DELETE", name, "", "rows of " + name + " are never deleted");
}

std::string never_changed(const Dialect& in, const std::string& name, const std::string& columns = "") {
    return in.refuse(name + "_never_changed", columns.empty() ? "UPDATE" : "UPDATE OF " + columns, name, "",
                     "rows of " + name + " are never changed");
}

struct Tables {
    const Dialect& in;
    std::string operator()(const std::string& name, const std::string& columns) const {
        return in.table(name, columns);
    }
};

// ISO 8601 text of a day or of a second in UTC.
std::string day(const std::string& column) {
    return "CHECK (" + column + " LIKE '____-__-__')";
}
std::string second(const std::string& column) {
    return "CHECK (" + column + " LIKE '____-__-__T__:__:__Z')";
}

std::vector<std::string> register_and_holds(const Dialect& in) {
    const Tables table{in};
    return {
        table("blob",
              "sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),"
              "size_bytes INTEGER NOT NULL CHECK (size_bytes >= 0),"
              "added TEXT NOT NULL " +
                  second("added")),
        table("item",
              "mark TEXT PRIMARY KEY CHECK (mark <> ''),"
              "kind TEXT NOT NULL CHECK (kind <> ''),"
              "serial TEXT NOT NULL, maker TEXT NOT NULL, model TEXT NOT NULL, batch TEXT NOT NULL,"
              "standard TEXT NOT NULL, material TEXT NOT NULL,"
              "length_mm REAL CHECK (length_mm > 0),"
              "size_mm REAL CHECK (size_mm > 0),"
              "sheath_colour TEXT NOT NULL, core_colour TEXT NOT NULL,"
              "made TEXT " +
                  day("made") +
                  ","
                  "bought TEXT " +
                  day("bought") +
                  ","
                  "first_used TEXT " +
                  day("first_used") +
                  ","
                  "place TEXT NOT NULL, kit TEXT NOT NULL,"
                  "years_from_made INTEGER CHECK (years_from_made > 0),"
                  "years_from_first_use INTEGER CHECK (years_from_first_use > 0),"
                  "parent TEXT REFERENCES item (mark),"
                  "note TEXT NOT NULL,"
                  "status TEXT NOT NULL CHECK (status IN"
                  " ('in_service', 'on_hold', 'in_service_with_limit', 'retired', 'sent_to_maker')),"
                  "limit_words TEXT NOT NULL,"
                  "CHECK ((status = 'in_service_with_limit') = (limit_words <> ''))"),
        never_changed(in, "item", "mark, parent"),
        "CREATE INDEX item_by_batch ON item (maker, model, batch)",
        "CREATE INDEX item_by_status ON item (status, mark)",
        "CREATE INDEX item_by_kit ON item (kit, mark)",
        "CREATE INDEX item_by_place ON item (place, mark)",
        "CREATE INDEX item_by_parent ON item (parent)",
        table("hold",
              "number TEXT PRIMARY KEY,"
              "year INTEGER NOT NULL, turn INTEGER NOT NULL CHECK (turn > 0),"
              "item TEXT NOT NULL REFERENCES item (mark),"
              "state TEXT NOT NULL CHECK (state IN ('open', 'evidence', 'ready', 'asked', 'answered', "
              "'verdict')),"
              "seen TEXT NOT NULL CHECK (seen <> ''),"
              "opened_by TEXT NOT NULL CHECK (opened_by <> ''),"
              "opened TEXT NOT NULL " +
                  second("opened") +
                  ","
                  "batch_note TEXT NOT NULL,"
                  // While the maker's reply is awaited: the day by which it is due.
                  "reply_due TEXT " +
                  day("reply_due") +
                  " CHECK (reply_due IS NULL OR state = 'asked'),"
                  "UNIQUE (year, turn)"),
        // An item is on at most one running hold.
        "CREATE UNIQUE INDEX hold_running ON hold (item) WHERE state <> 'verdict'",
        "CREATE INDEX hold_by_item ON hold (item, opened)",
        "CREATE INDEX hold_by_state ON hold (state, opened)",
        "CREATE INDEX hold_by_due ON hold (reply_due)",
        // A hold only moves forward.
        in.refuse("hold_only_forward", "UPDATE OF state", "hold",
                  "instr('open evidence ready asked answered verdict', NEW.state)"
                  " <= instr('open evidence ready asked answered verdict', OLD.state)",
                  "a hold only moves forward"),
        never_changed(in, "hold", "number, year, turn, item, seen, opened_by, opened, batch_note"),
        table("finding",
              "hold TEXT NOT NULL REFERENCES hold (number), number INTEGER NOT NULL CHECK (number > 0),"
              "kind TEXT NOT NULL CHECK (kind <> ''), kind_words TEXT NOT NULL,"
              "station_mm REAL CHECK (station_mm >= 0),"
              "side TEXT NOT NULL, words TEXT NOT NULL,"
              "found_by TEXT NOT NULL CHECK (found_by <> ''), found TEXT NOT NULL " +
                  second("found") +
                  ","
                  "PRIMARY KEY (hold, number)"),
        table("photo",
              "hold TEXT NOT NULL REFERENCES hold (number), number INTEGER NOT NULL CHECK (number > 0),"
              "role TEXT NOT NULL CHECK (role IN"
              " ('label', 'whole_item', 'close_up', 'other_side', 'second_view')),"
              "sha256 TEXT NOT NULL REFERENCES blob (sha256),"
              "file_name TEXT NOT NULL, size_bytes INTEGER NOT NULL,"
              "taken TEXT NOT NULL, usable INTEGER NOT NULL CHECK (usable IN (0, 1)),"
              "reasons TEXT NOT NULL, card_found INTEGER NOT NULL CHECK (card_found IN (0, 1)),"
              "report TEXT NOT NULL, markup TEXT REFERENCES blob (sha256),"
              "added_by TEXT NOT NULL CHECK (added_by <> ''), added TEXT NOT NULL " +
                  second("added") +
                  ","
                  "PRIMARY KEY (hold, number), UNIQUE (hold, sha256)"),
        table("reading",
              "hold TEXT NOT NULL, photo INTEGER NOT NULL, turn INTEGER NOT NULL,"
              "quantity TEXT NOT NULL, value REAL NOT NULL,"
              "u REAL NOT NULL CHECK (u >= 0), k REAL NOT NULL, expanded_u REAL NOT NULL CHECK (expanded_u "
              ">= 0),"
              // Null where the uncertainty is taken as known exactly: infinitely many degrees of freedom.
              "dof REAL,"
              "outline TEXT NOT NULL, budget TEXT NOT NULL,"
              "PRIMARY KEY (hold, photo, turn), FOREIGN KEY (hold, photo) REFERENCES photo (hold, number)"),
        table("advice",
              "hold TEXT NOT NULL REFERENCES hold (number), finding INTEGER, photo INTEGER, turn INTEGER NOT "
              "NULL,"
              "criterion TEXT NOT NULL,"
              "outcome TEXT NOT NULL CHECK (outcome IN ('retire', 'hold_and_ask', 'no_criterion_met')),"
              "probability REAL CHECK (probability >= 0 AND probability <= 1),"
              "source TEXT NOT NULL, words TEXT NOT NULL, because TEXT NOT NULL,"
              "borderline INTEGER NOT NULL CHECK (borderline IN (0, 1)),"
              "second_view INTEGER NOT NULL CHECK (second_view IN (0, 1)),"
              "CHECK ((finding IS NULL) <> (photo IS NULL)),"
              "UNIQUE (hold, finding, photo, turn),"
              "FOREIGN KEY (hold, finding) REFERENCES finding (hold, number),"
              "FOREIGN KEY (hold, photo) REFERENCES photo (hold, number)"),
        table("waived_view",
              "hold TEXT NOT NULL REFERENCES hold (number), role TEXT NOT NULL,"
              "reason TEXT NOT NULL CHECK (reason <> ''), waived_by TEXT NOT NULL CHECK (waived_by <> ''),"
              "waived TEXT NOT NULL " +
                  second("waived") + ", PRIMARY KEY (hold, role)"),
        table("query",
              "hold TEXT NOT NULL REFERENCES hold (number), number INTEGER NOT NULL CHECK (number > 0),"
              "to_address TEXT NOT NULL CHECK (to_address <> ''), subject TEXT NOT NULL,"
              "message_id TEXT NOT NULL UNIQUE CHECK (message_id <> ''),"
              "sha256 TEXT NOT NULL REFERENCES blob (sha256),"
              "reply_days INTEGER NOT NULL CHECK (reply_days > 0),"
              "made_by TEXT NOT NULL CHECK (made_by <> ''), made TEXT NOT NULL " +
                  second("made") +
                  ","
                  "sent TEXT " +
                  second("sent") + ", sent_by TEXT, reply_due TEXT " + day("reply_due") +
                  ","
                  "PRIMARY KEY (hold, number),"
                  "CHECK ((sent IS NULL) = (sent_by IS NULL) AND (sent IS NULL) = (reply_due IS NULL))"),
        never_changed(in, "query",
                      "hold, number, to_address, subject, message_id, sha256, reply_days, made_by, made"),
        in.refuse("query_sent_once", "UPDATE", "query", "OLD.sent IS NOT NULL",
                  "a query that was sent stays as it was sent"),
        table("reply",
              "hold TEXT NOT NULL REFERENCES hold (number), number INTEGER NOT NULL CHECK (number > 0),"
              "from_address TEXT NOT NULL, subject TEXT NOT NULL, message_id TEXT NOT NULL,"
              "received TEXT NOT NULL " +
                  second("received") +
                  ","
                  "sha256 TEXT NOT NULL REFERENCES blob (sha256), body TEXT NOT NULL,"
                  "automatic INTEGER NOT NULL CHECK (automatic IN (0, 1)),"
                  "added_by TEXT NOT NULL CHECK (added_by <> ''),"
                  "PRIMARY KEY (hold, number), UNIQUE (hold, sha256)"),
        table("attachment",
              "hold TEXT NOT NULL, reply INTEGER NOT NULL, turn INTEGER NOT NULL,"
              "file_name TEXT NOT NULL, media_type TEXT NOT NULL, size_bytes INTEGER NOT NULL,"
              "sha256 TEXT NOT NULL REFERENCES blob (sha256),"
              "PRIMARY KEY (hold, reply, turn), FOREIGN KEY (hold, reply) REFERENCES reply (hold, number)"),
        // A later row takes the place of an earlier one, which stays.
        table("answer",
              "hold TEXT NOT NULL, reply INTEGER NOT NULL, turn INTEGER NOT NULL,"
              "answer TEXT NOT NULL CHECK (answer IN"
              " ('fit', 'fit_with_limit', 'not_fit', 'send_it_in', 'cannot_say')),"
              "limit_words TEXT NOT NULL, words TEXT NOT NULL,"
              "entered_by TEXT NOT NULL CHECK (entered_by <> ''), entered TEXT NOT NULL " +
                  second("entered") +
                  ","
                  "PRIMARY KEY (hold, turn), FOREIGN KEY (hold, reply) REFERENCES reply (hold, number),"
                  "CHECK ((answer = 'fit_with_limit') = (limit_words <> ''))"),
        table("verdict",
              "hold TEXT PRIMARY KEY REFERENCES hold (number),"
              "kind TEXT NOT NULL CHECK (kind IN ('retire_and_destroy', 'cut_and_keep_parts', "
              "'return_to_service',"
              " 'return_with_limit', 'send_to_maker')),"
              "by_name TEXT NOT NULL CHECK (by_name <> ''), given TEXT NOT NULL " +
                  second("given") +
                  ","
                  "reason TEXT NOT NULL, limit_words TEXT NOT NULL,"
                  "scrapped_mm REAL CHECK (scrapped_mm > 0), witness TEXT NOT NULL, given_against TEXT NOT "
                  "NULL,"
                  "CHECK (given_against = '[]' OR reason <> ''),"
                  "CHECK (kind <> 'return_with_limit' OR limit_words <> ''),"
                  "CHECK ((kind = 'cut_and_keep_parts') = (scrapped_mm IS NOT NULL))"),
        table(
            "part",
            "hold TEXT NOT NULL REFERENCES verdict (hold), turn INTEGER NOT NULL,"
            "mark TEXT NOT NULL UNIQUE REFERENCES item (mark), length_mm REAL NOT NULL CHECK (length_mm > 0),"
            "PRIMARY KEY (hold, turn)"),
        table("journal",
              "number INTEGER PRIMARY KEY CHECK (number > 0),"
              "time TEXT NOT NULL " +
                  second("time") +
                  ","
                  "who TEXT NOT NULL CHECK (who <> ''), action TEXT NOT NULL CHECK (action <> ''),"
                  "subject TEXT NOT NULL, details TEXT NOT NULL,"
                  "previous_hash TEXT NOT NULL UNIQUE CHECK (length(previous_hash) = 64),"
                  "hash TEXT NOT NULL CHECK (length(hash) = 64)"),
        "CREATE INDEX journal_by_subject ON journal (subject, number)",
        "CREATE INDEX journal_by_action ON journal (action, number)",
        never_changed(in, "blob"),
        never_changed(in, "finding"),
        never_changed(in, "photo"),
        never_changed(in, "reading"),
        never_changed(in, "advice"),
        never_changed(in, "waived_view"),
        never_changed(in, "reply"),
        never_changed(in, "attachment"),
        never_changed(in, "answer"),
        never_changed(in, "verdict"),
        never_changed(in, "part"),
        never_changed(in, "journal"),
        never_deleted(in, "blob"),
        never_deleted(in, "item"),
        never_deleted(in, "hold"),
        never_deleted(in, "finding"),
        never_deleted(in, "photo"),
        never_deleted(in, "reading"),
        never_deleted(in, "advice"),
        never_deleted(in, "waived_view"),
        never_deleted(in, "query"),
        never_deleted(in, "reply"),
        never_deleted(in, "attachment"),
        never_deleted(in, "answer"),
        never_deleted(in, "verdict"),
        never_deleted(in, "part"),
        never_deleted(in, "journal"),
    };
}

// Words to find an item by: derived from the item, so rows may come and go.
std::vector<std::string> item_words(const Dialect& in) {
    const Tables table{in};
    return {
        table("item_word",
              "word TEXT NOT NULL, mark TEXT NOT NULL REFERENCES item (mark), PRIMARY KEY (word, mark)"),
        "CREATE INDEX item_word_by_mark ON item_word (mark)",
    };
}

// What was drawn on a photo, and the phones that may use the bench.
std::vector<std::string> marks_and_devices(const Dialect& in) {
    const Tables table{in};
    return {
        table(
            "photo_marks",
            "hold TEXT NOT NULL, photo INTEGER NOT NULL, turn INTEGER NOT NULL CHECK (turn > 0),"
            "annotations TEXT NOT NULL CHECK (json_valid(annotations)),"
            "made_by TEXT NOT NULL CHECK (made_by <> ''), made TEXT NOT NULL " +
                second("made") +
                ","
                "PRIMARY KEY (hold, photo, turn), FOREIGN KEY (hold, photo) REFERENCES photo (hold, number)"),
        table("device",
              "number INTEGER PRIMARY KEY CHECK (number > 0),"
              "name TEXT NOT NULL CHECK (name <> ''), holder TEXT NOT NULL CHECK (holder <> ''),"
              "secret_sha256 TEXT NOT NULL UNIQUE CHECK (length(secret_sha256) = 64),"
              "paired_by TEXT NOT NULL CHECK (paired_by <> ''), paired TEXT NOT NULL " +
                  second("paired") + ", revoked TEXT " + second("revoked") +
                  ", revoked_by TEXT, CHECK ((revoked IS NULL) = (revoked_by IS NULL))"),
        never_changed(in, "photo_marks"),
        never_changed(in, "device", "number, name, holder, secret_sha256, paired_by, paired"),
        in.refuse("device_revoked_once", "UPDATE", "device", "OLD.revoked IS NOT NULL",
                  "a device that was revoked stays revoked"),
        never_deleted(in, "photo_marks"),
        never_deleted(in, "device"),
    };
}

std::string reply_to_read(const Dialect& in, const std::string& which) {
    return "UPDATE hold SET to_read = " +
           in.truth(
               "state IN ('asked', 'answered') AND EXISTS (SELECT 1 FROM reply r WHERE r.hold = "
               "hold.number AND r.automatic = 0 AND NOT EXISTS (SELECT 1 FROM answer a WHERE a.hold = "
               "r.hold AND a.reply = r.number))") +
           " WHERE " + which;
}

// More of what a record of equipment asks for, when its life ends and when its next check is due; what a kit
// needs; rounds of checks.
std::vector<std::string> checks_and_kits(const Dialect& in) {
    const Tables table{in};
    const std::string of_check = "round TEXT NOT NULL, turn INTEGER NOT NULL";
    const std::string refers = ", FOREIGN KEY (round, turn) REFERENCES item_check (round, turn)";
    return {
        in.columns("ALTER TABLE item ADD COLUMN supplier TEXT NOT NULL DEFAULT ''"),
        in.columns("ALTER TABLE item ADD COLUMN used_by TEXT NOT NULL DEFAULT ''"),
        in.columns("ALTER TABLE item ADD COLUMN use_rate TEXT NOT NULL DEFAULT 'unknown' CHECK (use_rate IN"
                   " ('unknown', 'rare', 'regular', 'heavy'))"),
        in.columns("ALTER TABLE item ADD COLUMN life_source TEXT NOT NULL DEFAULT ''"),
        // Derived from dates and rule (record/life.h).
        in.columns("ALTER TABLE item ADD COLUMN life_end TEXT " + day("life_end")),
        in.columns("ALTER TABLE item ADD COLUMN life_unknown INTEGER NOT NULL DEFAULT 0 CHECK (life_unknown "
                   "IN (0, 1))"),
        // The day of the last check. The next is due at once where there was none: before every day.
        in.columns("ALTER TABLE item ADD COLUMN checked TEXT " + day("checked")),
        in.columns("ALTER TABLE item ADD COLUMN check_due TEXT NOT NULL DEFAULT '0001-01-01' " +
                   day("check_due")),
        "CREATE INDEX item_by_life ON item (life_end) WHERE status <> 'retired' AND life_unknown = 0",
        "CREATE INDEX item_by_unknown_life ON item (mark) WHERE status <> 'retired' AND life_unknown = 1",
        "CREATE INDEX item_by_check_due ON item (check_due, mark)"
        " WHERE status IN ('in_service', 'in_service_with_limit')",
        // Lists in the order they are shown, however many rows there are.
        "CREATE INDEX item_by_maker ON item (maker, mark)",
        "CREATE INDEX item_by_model ON item (model, mark)",
        "CREATE INDEX verdict_by_given ON verdict (given)",
        "DROP INDEX item_word_by_mark",
        "CREATE INDEX item_word_by_mark ON item_word (mark, word)",
        // Whether a reply is in whose answer nobody entered: kept by triggers, so that the queue can walk an
        // index.
        in.columns(
            "ALTER TABLE hold ADD COLUMN to_read INTEGER NOT NULL DEFAULT 0 CHECK (to_read IN (0, 1))"),
        reply_to_read(in, "1 = 1"),
        in.follow("reply_to_read", "INSERT", "reply", reply_to_read(in, "number = NEW.hold")),
        in.follow("answer_to_read", "INSERT", "answer", reply_to_read(in, "number = NEW.hold")),
        in.follow("state_to_read", "UPDATE OF state", "hold", reply_to_read(in, "number = NEW.number")),
        "CREATE INDEX hold_in_queue ON hold (to_read, opened, year, turn)",
        "CREATE INDEX hold_in_running_queue ON hold (to_read, opened, year, turn) WHERE state <> 'verdict'",
        // What the user has set; other kinds of use have the usual interval (record/check.h).
        table("check_interval",
              "kind TEXT NOT NULL CHECK (kind <> ''), use_rate TEXT NOT NULL,"
              "months INTEGER NOT NULL CHECK (months > 0), PRIMARY KEY (kind, use_rate)"),
        table("kit_need",
              "kit TEXT NOT NULL CHECK (kit <> ''), kind TEXT NOT NULL CHECK (kind <> ''),"
              "count INTEGER NOT NULL CHECK (count > 0), PRIMARY KEY (kit, kind)"),
        table("check_round",
              "number TEXT PRIMARY KEY, year INTEGER NOT NULL, turn INTEGER NOT NULL CHECK (turn > 0),"
              "kit TEXT NOT NULL, place TEXT NOT NULL, due_by TEXT " +
                  day("due_by") +
                  ","
                  "started_by TEXT NOT NULL CHECK (started_by <> ''), started TEXT NOT NULL " +
                  second("started") + ", ended TEXT " + second("ended") +
                  ", ended_by TEXT, UNIQUE (year, turn), CHECK ((ended IS NULL) = (ended_by IS NULL))"),
        "CREATE INDEX check_round_running ON check_round (number) WHERE ended IS NULL",
        never_changed(in, "check_round", "number, year, turn, kit, place, due_by, started_by, started"),
        never_deleted(in, "check_round"),
        table("item_check",
              "round TEXT NOT NULL REFERENCES check_round (number), turn INTEGER NOT NULL CHECK (turn > 0),"
              "item TEXT NOT NULL REFERENCES item (mark),"
              "state TEXT NOT NULL CHECK (state IN ('waiting', 'begun', 'paused', 'done', 'left_out')),"
              "begun TEXT " +
                  second("begun") + ", begun_by TEXT, done TEXT " + second("done") +
                  ", done_by TEXT,"
                  "result TEXT CHECK (result IN ('keep', 'keep_and_watch', 'hold', 'retire')),"
                  "words TEXT NOT NULL, against TEXT NOT NULL, next_due TEXT " +
                  day("next_due") +
                  ", hold TEXT REFERENCES hold (number),"
                  "PRIMARY KEY (round, turn), UNIQUE (round, item),"
                  "CHECK ((state = 'done') = (result IS NOT NULL)),"
                  "CHECK ((result IN ('hold', 'retire')) = (hold IS NOT NULL)),"
                  "CHECK (against = '[]' OR words <> '')"),
        // An item is in at most one running check.
        "CREATE UNIQUE INDEX item_check_running ON item_check (item)"
        " WHERE state IN ('waiting', 'begun', 'paused')",
        "CREATE INDEX item_check_by_item ON item_check (item, done)",
        never_changed(in, "item_check", "round, turn, item"),
        in.refuse("item_check_stays_done", "UPDATE", "item_check", "OLD.state IN ('done', 'left_out')",
                  "a check that is done stays as it is"),
        never_deleted(in, "item_check"),
        table("check_step",
              "step TEXT NOT NULL, words TEXT NOT NULL, done_by TEXT NOT NULL CHECK (done_by <> ''),"
              "done TEXT NOT NULL " +
                  second("done") + "," + of_check + ", PRIMARY KEY (round, turn, step)" + refers),
        table("check_stretch",
              "number INTEGER NOT NULL, from_mm REAL NOT NULL CHECK (from_mm >= 0), to_mm REAL NOT NULL,"
              "done_by TEXT NOT NULL CHECK (done_by <> ''), done TEXT NOT NULL " +
                  second("done") + "," + of_check +
                  ", PRIMARY KEY (round, turn, number), CHECK (to_mm > from_mm)" + refers),
        table("check_pause",
              "number INTEGER NOT NULL, paused TEXT NOT NULL " + second("paused") +
                  ", paused_by TEXT NOT NULL CHECK (paused_by <> ''), resumed TEXT " + second("resumed") +
                  ", resumed_by TEXT," + of_check +
                  ", PRIMARY KEY (round, turn, number), CHECK ((resumed IS NULL) = (resumed_by IS NULL))" +
                  refers),
        never_changed(in, "check_pause", "round, turn, number, paused, paused_by"),
        in.refuse("check_pause_ends_once", "UPDATE", "check_pause", "OLD.resumed IS NOT NULL",
                  "a pause that ended stays as it is"),
        table("check_finding",
              "number INTEGER NOT NULL, kind TEXT NOT NULL CHECK (kind <> ''), kind_words TEXT NOT NULL,"
              "station_mm REAL CHECK (station_mm >= 0), side TEXT NOT NULL, words TEXT NOT NULL,"
              "found_by TEXT NOT NULL CHECK (found_by <> ''), found TEXT NOT NULL " +
                  second("found") + ", advice TEXT NOT NULL," + of_check +
                  ", PRIMARY KEY (round, turn, number)" + refers),
        never_changed(in, "check_step"),
        never_changed(in, "check_stretch"),
        never_changed(in, "check_finding"),
        never_deleted(in, "check_step"),
        never_deleted(in, "check_stretch"),
        never_deleted(in, "check_pause"),
        never_deleted(in, "check_finding"),
    };
}

// Mail: a query's way out, what came in, and how each maker is asked.
std::vector<std::string> outbox_and_inbox(const Dialect& in) {
    const Tables table{in};
    return {
        table(
            "posting",
            "hold TEXT NOT NULL, query INTEGER NOT NULL,"
            "state TEXT NOT NULL CHECK (state IN ('waiting', 'trying', 'handing_over', 'accepted', 'unsure', "
            "'refused', 'withdrawn')),"
            "queued_by TEXT NOT NULL CHECK (queued_by <> ''), queued TEXT NOT NULL " +
                second("queued") + ", next_try TEXT " + second("next_try") +
                ","
                "CHECK ((next_try IS NOT NULL) = (state = 'waiting')),"
                "PRIMARY KEY (hold, query), FOREIGN KEY (hold, query) REFERENCES query (hold, number)"),
        "CREATE INDEX posting_by_state ON posting (state, next_try)",
        never_changed(in, "posting", "hold, query"),
        // What a server has taken over is not sent again, whatever a program may ask.
        in.refuse("posting_accepted_once", "UPDATE", "posting", "OLD.state = 'accepted'",
                  "what a server has accepted is not sent again"),
        never_deleted(in, "posting"),
        table("post_try",
              "hold TEXT NOT NULL, query INTEGER NOT NULL, number INTEGER NOT NULL CHECK (number > 0),"
              "started TEXT NOT NULL " +
                  second("started") + ", handing_over TEXT " + second("handing_over") + ", ended TEXT " +
                  second("ended") +
                  ","
                  "code INTEGER NOT NULL, words TEXT NOT NULL,"
                  "PRIMARY KEY (hold, query, number), FOREIGN KEY (hold, query) REFERENCES posting (hold, "
                  "query)"),
        in.refuse("post_try_ends_once", "UPDATE", "post_try", "OLD.ended IS NOT NULL",
                  "a try that has ended stays as it ended"),
        never_changed(in, "post_try", "hold, query, number, started"),
        never_deleted(in, "post_try"),
        in.columns(
            "ALTER TABLE reply ADD COLUMN way TEXT NOT NULL DEFAULT 'mail' CHECK (way IN ('mail', 'pasted', "
            "'phone'))"),
        in.columns("ALTER TABLE reply ADD COLUMN delivery TEXT NOT NULL DEFAULT ''"),
        table("mail_folder",
              "address TEXT PRIMARY KEY CHECK (address <> ''), uid_validity INTEGER NOT NULL, last_uid "
              "INTEGER NOT "
              "NULL"),
        never_deleted(in, "mail_folder"),
        table(
            "unplaced_mail",
            "number INTEGER PRIMARY KEY CHECK (number > 0),"
            "from_address TEXT NOT NULL, subject TEXT NOT NULL, body TEXT NOT NULL, received TEXT NOT NULL " +
                second("received") +
                ","
                "sha256 TEXT UNIQUE REFERENCES blob (sha256), why TEXT NOT NULL CHECK (why <> ''),"
                "fetched_by TEXT NOT NULL CHECK (fetched_by <> ''), fetched TEXT NOT NULL " +
                second("fetched") +
                ","
                "hold TEXT REFERENCES hold (number), set_aside TEXT, settled_by TEXT, settled TEXT " +
                second("settled") +
                ","
                "CHECK ((settled IS NULL) = (settled_by IS NULL)),"
                "CHECK ((settled IS NULL) = (hold IS NULL AND set_aside IS NULL)),"
                "CHECK (hold IS NULL OR set_aside IS NULL)"),
        "CREATE INDEX unplaced_mail_open ON unplaced_mail (number) WHERE settled IS NULL",
        in.refuse("unplaced_mail_settled_once", "UPDATE", "unplaced_mail", "OLD.settled IS NOT NULL",
                  "a mail is placed or set aside once"),
        never_changed(in, "unplaced_mail",
                      "number, from_address, subject, body, received, sha256, why, fetched_by, fetched"),
        never_deleted(in, "unplaced_mail"),
        "CREATE INDEX reply_by_sha256 ON reply (sha256)",
        table("maker",
              "name TEXT PRIMARY KEY CHECK (name <> ''), addresses TEXT NOT NULL, language TEXT NOT NULL,"
              "mail_limit_bytes INTEGER CHECK (mail_limit_bytes > 0),"
              "reply_days INTEGER CHECK (reply_days > 0), note TEXT NOT NULL"),
        never_changed(in, "maker", "name"),
        never_deleted(in, "maker"),
    };
}

// What each phone is for. Those paired before took photos and findings.
std::vector<std::string> device_roles(const Dialect& in) {
    return {
        in.columns("ALTER TABLE device ADD COLUMN role TEXT NOT NULL DEFAULT 'helper' "
                   "CHECK (role IN ('helper', 'keeper', 'competent_person'))"),
        in.refuse("device_keeps_its_role", "UPDATE OF role", "device", "",
                  "a device keeps its role: revoke it and pair it again"),
    };
}

// What every row held when it was written, and a journal whose names can be erased.
std::vector<std::string> seals(const Dialect& in) {
    return {
        in.table("row_seal",
                 "number INTEGER PRIMARY KEY CHECK (number > 0), rows TEXT NOT NULL,"
                 "previous_hash TEXT NOT NULL UNIQUE CHECK (length(previous_hash) = 64),"
                 "hash TEXT NOT NULL CHECK (length(hash) = 64)"),
        never_changed(in, "row_seal"),
        never_deleted(in, "row_seal"),
        in.columns("ALTER TABLE journal ADD COLUMN salt TEXT NOT NULL DEFAULT ''"),
        in.columns("ALTER TABLE journal ADD COLUMN who_seal TEXT NOT NULL DEFAULT ''"),
        in.columns("ALTER TABLE journal ADD COLUMN details_seal TEXT NOT NULL DEFAULT ''"),
        in.columns("ALTER TABLE journal ADD COLUMN rows_seal TEXT NOT NULL DEFAULT ''"),
    };
}

// Lists in the order they are shown, however many rows there are. Most items are part of no other: an index
// of them all tells the planner that one parent has as many parts as the store has items, and it reads the
// whole register instead.
std::vector<std::string> parts_and_due_replies(const Dialect&) {
    return {"DROP INDEX item_by_parent",
            "CREATE INDEX item_by_parent ON item (parent, mark) WHERE parent IS NOT NULL",
            "DROP INDEX hold_by_due",
            "CREATE INDEX hold_by_due ON hold (reply_due, number) WHERE reply_due IS NOT NULL"};
}

struct Migration {
    std::vector<std::string> (*statements)(const Dialect& in);
    void (*fill)(Database&);  // what a statement alone cannot do; may be null
};

constexpr Migration migrations[] = {
    {register_and_holds, nullptr}, {item_words, index_all_items},
    {marks_and_devices, nullptr},  {checks_and_kits, fill_life_dates},
    {outbox_and_inbox, nullptr},   {device_roles, nullptr},
    {seals, seal_all_rows},        {parts_and_due_replies, nullptr},
};

// From a version to the next, within a transaction; from 0 the ground is laid too.
void take_step(Database& database, int version, Time now) {
    const Dialect& in = database.dialect();
    if (version == 0) {
        for (const std::string& statement : in.groundwork()) database.run(statement);
        database.run(in.table("schema_version",
                              "version INTEGER PRIMARY KEY, applied TEXT NOT NULL " + second("applied")));
    }
    const Migration& next = migrations[version];
    for (const std::string& statement : next.statements(in)) database.run(statement);
    if (next.fill != nullptr) next.fill(database);
    database.run("INSERT INTO schema_version (version, applied) VALUES (:version, :applied)",
                 {version + 1, now});
}

}  // namespace

int newest_schema() {
    return static_cast<int>(std::size(migrations));
}

int schema_version(const Database& database) {
    if (database.count(database.dialect().count_table(), {"schema_version"}) == 0) return 0;
    return static_cast<int>(database.count("SELECT MAX(version) FROM schema_version"));
}

void migrate(Database& database, Time now, int to) {
    if (schema_version(database) == to) return;
    for (bool done = false; !done;) {
        Transaction step(database, Transaction::Purpose::write);
        // Read again within the transaction: another process may have taken the step meanwhile.
        const int version = schema_version(database);
        if (version > newest_schema())
            throw Failure(Fault::input, database.name(),
                          trf("the store has schema {}, and this program knows only up to {}", version,
                              newest_schema()),
                          "use the newer Frayhold that made it");
        if (version < to) take_step(database, version, now);
        step.commit();
        done = version + 1 >= to;
    }
}

std::vector<SchemaObject> schema_objects(const Database& database) {
    return database.all<SchemaObject>(database.dialect().list_schema(), {}, [](Row& row) {
        std::string name = row.text();
        return SchemaObject{std::move(name), row.text()};
    });
}

std::vector<SchemaObject> expected_schema(const Database& database) {
    Database scratch = database.scratch();
    const Transaction never_committed(scratch, Transaction::Purpose::write);
    for (const std::string& statement : scratch.dialect().scratch()) scratch.run(statement);
    for (int version = 0; version < newest_schema(); ++version) take_step(scratch, version, Time{});
    return schema_objects(scratch);
}

}  // namespace frayhold::store
