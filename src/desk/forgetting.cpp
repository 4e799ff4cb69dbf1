// SPDX-License-Identifier: Apache-2.0
#include "desk/forgetting.h"

#include <fmt/format.h>

#include "desk/inside.h"
#include "language/tr.h"
#include "record/text.h"
#include "store/journal.h"

namespace frayhold::desk {
namespace {

constexpr const char* action = "person.forget";

std::string instead_of(const store::Database& database) {
    const std::size_t before = store::search_journal(database, {.action = action}).size();
    return fmt::format("Person {} (name erased)", before + 1);
}

}  // namespace

Forgotten Desk::forget_person(const std::string& name) {
    inside_->need_person();
    const std::string wanted = record::trimmed(name);
    need_words(tr("name"), wanted, tr("give the name as it stands in the store"));
    constexpr std::size_t fewest_letters = 3;
    if (wanted.size() < fewest_letters)
        throw Failure(Fault::input, tr("name"), "so short a name stands in too many words",
                      "give the whole name");
    if (store::without_name(inside_->setup.who, wanted, "") != inside_->setup.who)
        throw Failure(Fault::refused, tr("name"),
                      "nobody can erase their own name: the journal would write it again",
                      "let another person do it");
    const Time now = inside_->now();
    store::Database& database = inside_->database();
    if (database.is_on_server())
        throw Failure(Fault::usage, tr("name"), "a store on a server erases no name",
                      "its backups and logs would keep it: let its owner do it in all of them");
    store::overwrite_what_goes(database);
    store::Transaction transaction(database, store::Transaction::Purpose::write);
    Forgotten forgotten = store::forget_name(inside_->store, wanted, instead_of(database));
    if (forgotten.rows == 0 && forgotten.kept_files.empty())
        throw Failure(Fault::input, tr("name"), "this name stands nowhere in the store",
                      "give it as the journal writes it");
    inside_->tell_journal(now, action, forgotten.instead,
                          {{"entries", forgotten.entries}, {"rows", forgotten.rows}});
    transaction.commit();
    store::empty_the_log(database);
    return forgotten;
}

}  // namespace frayhold::desk
