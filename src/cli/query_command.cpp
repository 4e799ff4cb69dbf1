// SPDX-License-Identifier: Apache-2.0
#include "cli/query_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <ostream>

#include "cli/account_option.h"
#include "cli/case_text.h"
#include "cli/disclosure_text.h"
#include "cli/post_command.h"
#include "cli/text_table.h"
#include "cli/whole_file.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "criteria/advice.h"
#include "desk/due_dates.h"
#include "desk/mail_setup.h"
#include "language/tr.h"
#include "pack/letter.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

const record::Query& query_numbered(const record::CaseFile& file, int number) {
    for (const record::Query& query : file.queries)
        if (query.number == number) return query;
    throw Failure(Fault::input, file.hold.number, trf("there is no query {}", number),
                  trf("see 'query list {}'", file.hold.number));
}

struct MakeOptions {
    std::string hold;
    desk::QueryOrder order;
    int reply_days = 0;
    std::string file;
    std::string who;
    bool json = false;
};

// What a query and a reminder have in common.
std::shared_ptr<MakeOptions> add_make_options(CLI::App& command) {
    auto options = std::make_shared<MakeOptions>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    command.add_option("--to", options->order.to, tr("the maker's address; else the maker's book has it"));
    command.add_option("--from", options->order.from, tr("your address; else FRAYHOLD_FROM"))
        ->envname("FRAYHOLD_FROM")
        ->required();
    command.add_option(
        "--language", options->order.language,
        tr("language of the letter and what goes with it, such as de; else the maker's book, else en"));
    command.add_option("--words", options->order.own_words,
                       tr("more, in your words, in the maker's language"));
    command.add_option("--outfit", options->order.outfit, tr("your outfit's name; else FRAYHOLD_OUTFIT"))
        ->envname("FRAYHOLD_OUTFIT");
    take_whole_number(
        command.add_option("--reply-days", options->reply_days,
                           tr("days after which the reply is overdue; else the maker's book, else 14")),
        1, 365);
    command.add_option("-o,--output", options->file, tr("write the message to this .eml file"))->required();
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, tr("print the query as JSON"));
    return options;
}

void make(Session& session, MakeOptions& options) {
    if (options.reply_days > 0) options.order.reply_days = options.reply_days;
    desk::Desk desk = open_desk(session, options.who);
    const record::Query query = desk.make_query(options.hold, options.order);
    write_whole_file(options.file, desk.kept_bytes(query.sha256));
    if (options.json) return print_json(session.out, record::as_json(query));
    session.out << trf("{0}: query {1} is in {2}; 'query send {0} {1}' sends it, or send it by hand and then "
                       "say 'query sent {0} {1}'",
                       query.hold, query.number, options.file)
                << '\n';
    if (!options.order.reminder) print_disclosure(session.out, what_leaves(desk, query.hold, options.who));
}

void add_make(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("make", tr("Make the mail to the maker, with the pack, as an .eml file"));
    const auto options = add_make_options(command);
    command
        .add_option("--ask", options->order.questions,
                    tr("a question by its key; may be repeated: see 'query questions'"))
        ->allow_extra_args(false);
    command.add_option("--substance", options->order.substance,
                       tr("the ink or cleaner that question 'cleaner' is about"));
    auto limit_mb = std::make_shared<int>(0);
    take_whole_number(command.add_option("--mail-limit", *limit_mb,
                                         tr("what the mail may weigh, in MB; else the maker's book")),
                      1, 1000);
    command.callback([&session, options, limit_mb] {
        constexpr std::int64_t bytes_per_mb = 1'000'000;
        if (*limit_mb > 0) options->order.mail_limit_bytes = *limit_mb * bytes_per_mb;
        make(session, *options);
    });
}

void add_remind(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand(
        "remind", tr("Make a reminder of the queries sent and not answered, as an .eml file"));
    const auto options = add_make_options(command);
    options->order.reminder = true;
    command.callback([&session, options] { make(session, *options); });
}

void add_dates(CLI::App& group, Session& session) {
    struct Options {
        std::string file;
    };
    CLI::App& command = *group.add_subcommand(
        "dates", tr("Write the days on which replies are due, for a calendar program (.ics)"));
    auto options = std::make_shared<Options>();
    command.add_option("-o,--output", options->file, tr("FILE.ics"))->required();
    command.callback([&session, options] {
        const desk::Desk desk = open_desk(session);
        const std::vector<desk::DueReply> awaited = desk.awaited_replies();
        const std::string calendar = desk::calendar_of(awaited, now(session));
        write_whole_file(options->file, std::as_bytes(std::span(calendar)));
        session.out << trn("{1}: {0} day on which a reply is due", "{1}: {0} days on which a reply is due",
                           awaited.size(), options->file)
                    << '\n';
    });
}

void add_send(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        int number = 0;
        std::string account;
        bool later = false;
        std::string who;
    };
    CLI::App& command =
        *group.add_subcommand("send", tr("Put a query into the outbox and send it from your mail account"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    take_whole_number(command.add_option("NUMBER", options->number, tr("the query's number within the hold")),
                      1)
        ->required();
    add_account_option(command, options->account);
    command.add_flag("--later", options->later, tr("leave the sending to the next 'post run'"));
    add_by_option(command, options->who);
    command.callback([&session, options] {
        const auto account = options->later ? nullptr : account_of(options->account);
        desk::Desk desk = open_desk(session, options->who);
        const record::Query query = desk.queue_query(options->hold, options->number);
        if (account)
            print_run(session, desk.run_outbox(desk::sender_of(account),
                                               desk::OutboxQuery{options->hold, options->number}));
        else
            session.out << trf("{}: query {} waits in the outbox; 'post run' sends it", query.hold,
                               query.number)
                        << '\n';
    });
}

void add_sent(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        int number = 0;
        std::string when;
        std::string who;
    };
    CLI::App& command = *group.add_subcommand("sent", tr("State that a query went out as it was made"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    take_whole_number(command.add_option("NUMBER", options->number, tr("the query's number within the hold")),
                      1)
        ->required();
    command.add_option("--when", options->when, tr("when, such as 2026-02-28T09:30:00Z (default now)"));
    add_by_option(command, options->who);
    command.callback([&session, options] {
        std::optional<Time> when;
        if (!options->when.empty()) when = time_of("--when", options->when);
        desk::Desk desk = open_desk(session, options->who);
        const record::Query query = desk.mark_sent(options->hold, options->number, when);
        session.out << (query.reply_due ? trf("{}: query {} is sent; the reply is due by {}", query.hold,
                                              query.number, to_text(*query.reply_due))
                                        : trf("{}: query {} is sent", query.hold, query.number))
                    << '\n';
    });
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("list", tr("List the queries of a hold"));
    auto hold = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("HOLD", *hold, tr("the hold's number"))->required();
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, hold, json] {
        const std::vector<record::Query> queries = open_desk(session).case_file(*hold).queries;
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::Query& query : queries) list.push_back(record::as_json(query));
            return print_json(session.out, list);
        }
        TextTable table({trc("number", "no"), trc("to whom", "to"), trc("of a mail", "subject"),
                         trc("when", "sent"), tr("reply due")});
        for (const record::Query& query : queries)
            table.add({std::to_string(query.number), query.to, query.subject, sent_words(query),
                       query.reply_due ? to_text(*query.reply_due) : ""});
        table.print(session.out);
    });
}

void add_show(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        int number = 0;
        std::string file;
        bool json = false;
    };
    CLI::App& command =
        *group.add_subcommand("show", tr("Show a query, or write its message to a file again"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    take_whole_number(command.add_option("NUMBER", options->number, tr("the query's number within the hold")),
                      1)
        ->required();
    command.add_option("-o,--output", options->file,
                       tr("write the message, byte for byte, to this .eml file"));
    command.add_flag("--json", options->json, tr("print JSON"));
    command.callback([&session, options] {
        const desk::Desk desk = open_desk(session);
        const record::CaseFile file = desk.case_file(options->hold);
        const record::Query& query = query_numbered(file, options->number);
        if (!options->file.empty()) write_whole_file(options->file, desk.kept_bytes(query.sha256));
        if (options->json) return print_json(session.out, record::as_json(query));
        session.out << trf("{}: query {} to {}: {}", query.hold, query.number, query.to, query.subject)
                    << fmt::format("\n  Message-ID {}, SHA-256 {}\n  {}\n", query.message_id, query.sha256,
                                   query.sent ? trf("sent {}", to_text(*query.sent)) : sent_words(query));
    });
}

void add_questions(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("questions", tr("List the questions that --ask knows"));
    auto json = std::make_shared<bool>(false);
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, json] {
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const pack::LetterQuestion& question : pack::letter_questions())
                list.push_back({{"key", question.key}, {"words", question.words}});
            return print_json(session.out, list);
        }
        TextTable table({tr("key"), tr("question")});
        for (const pack::LetterQuestion& question : pack::letter_questions())
            table.add({std::string(question.key), tr_word(question.words)});
        table.print(session.out);
    });
}

void add_due(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("due", tr("List queries whose reply is due, longest overdue first"));
    auto json = std::make_shared<bool>(false);
    auto limit = std::make_shared<int>(200);
    auto offset = std::make_shared<int>(0);
    add_range_options(command, *limit, *offset);
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, json, limit, offset] {
        const std::vector<desk::DueReply> due = open_desk(session).overdue_replies(*limit, *offset);
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const desk::DueReply& reply : due) {
                nlohmann::ordered_json entry = record::as_json(reply.query);
                entry["item"] = reply.hold.item;
                entry["days_overdue"] = reply.days_overdue;
                list.push_back(std::move(entry));
            }
            return print_json(session.out, list);
        }
        if (due.empty()) session.out << tr("No reply is due.") << '\n';
        TextTable table({trc("the case", "hold"), tr("item"), trc("to whom", "to"), trc("when", "sent"),
                         tr("days overdue")});
        for (const desk::DueReply& reply : due)
            table.add({reply.hold.number, reply.hold.item, reply.query.to,
                       reply.query.sent ? day_words(*reply.query.sent) : "",
                       std::to_string(reply.days_overdue)});
        if (due.empty()) return;
        table.print(session.out);
        session.out << tr_word(desk::unanswered_advice) << '\n' << tr_word(criteria::caution) << '\n';
    });
}

}  // namespace

void add_query_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("query", tr("Questions to the maker"));
    group.require_subcommand(1);
    add_make(group, session);
    add_remind(group, session);
    add_send(group, session);
    add_sent(group, session);
    add_list(group, session);
    add_show(group, session);
    add_questions(group, session);
    add_due(group, session);
    add_dates(group, session);
}

}  // namespace frayhold::cli
