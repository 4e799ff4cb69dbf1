// SPDX-License-Identifier: Apache-2.0
#include "cli/maker_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/text_table.h"
#include "cli/words.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

constexpr std::int64_t bytes_per_mb = 1'000'000;

// What was typed; what was not typed stays as it is.
struct Fields {
    std::string name;
    std::vector<std::string> addresses;
    std::string language;
    std::string mail_limit_mb;
    std::string reply_days;
    std::string note;
    std::string who;
    bool json = false;

    void put_into(record::Maker& maker) const {
        if (!addresses.empty()) maker.addresses = addresses;
        if (!language.empty()) maker.language = language;
        if (!mail_limit_mb.empty())
            maker.mail_limit_bytes = whole_number_of("--mail-limit", mail_limit_mb) * bytes_per_mb;
        if (!reply_days.empty()) maker.reply_days = whole_number_of("--reply-days", reply_days);
        if (!note.empty()) maker.note = note;
    }
};

std::shared_ptr<Fields> add_fields(CLI::App& command) {
    auto fields = std::make_shared<Fields>();
    command.add_option("NAME", fields->name, tr("as it stands in the register's items"))->required();
    command
        .add_option("--address", fields->addresses, tr("where to write; may be repeated, the first is used"))
        ->allow_extra_args(false);
    command.add_option("--language", fields->language,
                       tr("language of the letters, such as de (default en)"));
    command.add_option("--mail-limit", fields->mail_limit_mb, tr("what a mail to them may weigh, in MB"));
    command.add_option("--reply-days", fields->reply_days, tr("how many days they usually take"));
    command.add_option("--note", fields->note, tr("anything worth knowing"));
    add_by_option(command, fields->who);
    command.add_flag("--json", fields->json, tr("print the entry as JSON"));
    return fields;
}

std::string limit_words(const record::Maker& maker) {
    return maker.mail_limit_bytes ? trf("{} MB", *maker.mail_limit_bytes / bytes_per_mb)
                                  : trc("limit", "usual");
}

std::string days_words(const record::Maker& maker) {
    return maker.reply_days ? std::to_string(*maker.reply_days) : trf("usual ({})", desk::usual_reply_days);
}

void print_maker(std::ostream& out, const record::Maker& maker) {
    out << maker.name << '\n';
    for (const std::string& line :
         {trf("written to: {}", joined(maker.addresses, ", ")), trf("language: {}", maker.language),
          trf("a mail may weigh: {}", limit_words(maker)), trf("days to reply: {}", days_words(maker))})
        out << "  " << line << '\n';
    if (!maker.note.empty()) out << "  " << maker.note << '\n';
}

void print(Session& session, const record::Maker& maker, bool json) {
    if (json) return print_json(session.out, record::as_json(maker));
    print_maker(session.out, maker);
}

}  // namespace

void add_maker_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("maker", tr("The maker's book: how each maker is asked"));
    group.require_subcommand(1);

    CLI::App& add = *group.add_subcommand("add", tr("Enter a maker"));
    const auto added = add_fields(add);
    add.callback([&session, added] {
        record::Maker maker;
        maker.name = added->name;
        added->put_into(maker);
        print(session, open_desk(session, added->who).add_maker(maker), added->json);
    });

    CLI::App& edit = *group.add_subcommand("edit", tr("Change a maker's entry"));
    const auto edited = add_fields(edit);
    edit.callback([&session, edited] {
        print(session,
              open_desk(session, edited->who)
                  .edit_maker(edited->name, [&](record::Maker& maker) { edited->put_into(maker); }),
              edited->json);
    });

    CLI::App& show = *group.add_subcommand("show", tr("Show a maker's entry"));
    auto name = std::make_shared<std::string>();
    auto show_json = std::make_shared<bool>(false);
    show.add_option("NAME", *name, tr("the maker's name"))->required();
    show.add_flag("--json", *show_json, tr("print JSON"));
    show.callback(
        [&session, name, show_json] { print(session, open_desk(session).maker(*name), *show_json); });

    CLI::App& list = *group.add_subcommand("list", tr("List the makers"));
    auto list_json = std::make_shared<bool>(false);
    list.add_flag("--json", *list_json, tr("print JSON"));
    list.callback([&session, list_json] {
        const std::vector<record::Maker> makers = open_desk(session).makers();
        if (*list_json) {
            auto json = nlohmann::ordered_json::array();
            for (const record::Maker& maker : makers) json.push_back(record::as_json(maker));
            return print_json(session.out, json);
        }
        if (makers.empty()) {
            session.out << tr("No maker is entered.") << '\n';
            return;
        }
        TextTable table(
            {tr("maker"), tr("written to"), tr("language"), tr("mail limit"), tr("days to reply")});
        for (const record::Maker& maker : makers)
            table.add(
                {maker.name, maker.addresses.front(), maker.language, limit_words(maker), days_words(maker)});
        table.print(session.out);
    });
}

}  // namespace frayhold::cli
