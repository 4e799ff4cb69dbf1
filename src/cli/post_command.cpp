// SPDX-License-Identifier: Apache-2.0
#include "cli/post_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <optional>
#include <ostream>

#include "cli/account_option.h"
#include "cli/case_text.h"
#include "cli/reply_command.h"
#include "cli/text_table.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "desk/mail_setup.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

std::string last_words(const record::Posting& posting) {
    return posting.tries.empty() ? std::string() : tr_recorded(posting.tries.back().words);
}

std::string state_words(const std::string& hold, const record::Query& query) {
    // Translators: a hold, a query's number and its state in the outbox, "H-2026-0001: query 1 is waiting".
    return trf("{}: query {} is {}", hold, query.number, record::words_for(query.posting.value().state));
}

std::string outcome_words(const desk::OutboxLine& line) {
    const record::Query& query = line.query;
    const record::Posting& posting = query.posting.value();
    const std::string state = record::words_for(posting.state);
    switch (posting.state) {
        case record::PostState::accepted:
            if (!query.reply_due) break;
            return trf("{}: query {} is {}; the reply is due by {}", line.hold, query.number, state,
                       to_text(*query.reply_due));
        case record::PostState::waiting:
            // Translators: the last field is why the last try failed.
            return trf("{}: query {} is {}, next try {}: {}", line.hold, query.number, state,
                       minute_words(posting.next_try.value()), last_words(posting));
        case record::PostState::unsure:
            return trf("{}: query {} is {}: {}", line.hold, query.number, state, last_words(posting)) +
                   "\n  " +
                   trf("Ask the maker, or look among the sent mails; then say 'post settle {} {} --was-sent' "
                       "or '--send-again'",
                       line.hold, query.number);
        case record::PostState::refused:
            return trf("{}: query {} is {}: {}", line.hold, query.number, state, last_words(posting)) +
                   "\n  " +
                   trf("Mend what it names, then say 'post settle {} {} --send-again', or send it another "
                       "way",
                       line.hold, query.number);
        default:
            break;
    }
    return state_words(line.hold, query);
}

nlohmann::ordered_json as_json(const desk::OutboxLine& line) {
    nlohmann::ordered_json json = record::as_json(line.query);
    json["hold"] = line.hold;
    return json;
}

void add_outbox(CLI::App& group, Session& session) {
    struct Options {
        bool all = false;
        bool json = false;
    };
    CLI::App& command = *group.add_subcommand("outbox", tr("List what waits to be sent or needs your word"));
    auto options = std::make_shared<Options>();
    command.add_flag("--all", options->all, tr("also what was sent or withdrawn"));
    command.add_flag("--json", options->json, tr("print JSON, with every try"));
    command.callback([&session, options] {
        const std::vector<desk::OutboxLine> lines = open_desk(session).outbox(options->all);
        if (options->json) {
            auto list = nlohmann::ordered_json::array();
            for (const desk::OutboxLine& line : lines) list.push_back(as_json(line));
            return print_json(session.out, list);
        }
        if (lines.empty()) {
            session.out << tr("Nothing is in the outbox.") << '\n';
            return;
        }
        TextTable table({trc("the case", "hold"), tr("query"), trc("to whom", "to"), tr("state"), tr("tries"),
                         tr("next try"), tr("last word")});
        for (const desk::OutboxLine& line : lines) {
            const record::Posting& posting = line.query.posting.value();
            table.add({line.hold, std::to_string(line.query.number), line.query.to,
                       record::words_for(posting.state), std::to_string(posting.tries.size()),
                       posting.next_try ? minute_words(*posting.next_try) : "", last_words(posting)});
        }
        table.print(session.out);
    });
}

void print_fetched(Session& session, const desk::InboxRun& run) {
    for (const record::Reply& reply : run.placed) {
        session.out << kept_words(reply) << '\n';
        if (!reply.delivery.empty())
            session.out << "  " << trf("It is a delivery report: {}", tr_recorded(reply.delivery)) << '\n';
        else if (reply.automatic)
            session.out << "  " << tr("It was sent by a machine: not an answer") << '\n';
        else
            session.out << "  " << read_words(reply) << '\n';
    }
    for (const record::UnplacedMail& mail : run.unplaced)
        session.out << trf("unplaced mail {} from {}: {}", mail.number, mail.from, mail.subject) << "\n  "
                    << tr_recorded(mail.why) << '\n';
    session.out << trf("Fetched: {} placed, {} unplaced, {} known already", run.placed.size(),
                       run.unplaced.size(), run.known)
                << '\n';
}

void add_run(CLI::App& group, Session& session) {
    struct Options {
        std::string account;
        std::string who;
        bool send_only = false;
    };
    CLI::App& command = *group.add_subcommand(
        "run", tr("Send what is due in the outbox, then fetch replies; once, or by a timer"));
    auto options = std::make_shared<Options>();
    add_account_option(command, options->account);
    command.add_flag("--send-only", options->send_only, tr("do not fetch"));
    add_by_option(command, options->who);
    command.callback([&session, options] {
        const auto account = account_of(options->account);
        desk::Desk desk = open_desk(session, options->who);
        if (account->smtp) print_run(session, desk.run_outbox(desk::sender_of(account)));
        if (account->imap && !options->send_only)
            print_fetched(session, desk.fetch_replies(desk::reply_folder_of(account)));
    });
}

void add_fetch(CLI::App& group, Session& session) {
    struct Options {
        std::string account;
        std::string who;
    };
    CLI::App& command =
        *group.add_subcommand("fetch", tr("Fetch replies from the account's folder, leaving it as it is"));
    auto options = std::make_shared<Options>();
    add_account_option(command, options->account);
    add_by_option(command, options->who);
    command.callback([&session, options] {
        const auto account = account_of(options->account);
        desk::Desk desk = open_desk(session, options->who);
        print_fetched(session, desk.fetch_replies(desk::reply_folder_of(account)));
    });
}

struct QueryOptions {
    std::string hold;
    int number = 0;
    std::string who;
};

std::shared_ptr<QueryOptions> add_query_words(CLI::App& command) {
    auto options = std::make_shared<QueryOptions>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    take_whole_number(command.add_option("NUMBER", options->number, tr("the query's number within the hold")),
                      1)
        ->required();
    add_by_option(command, options->who);
    return options;
}

void add_withdraw(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("withdraw", tr("Take a waiting query back out of the outbox"));
    const auto options = add_query_words(command);
    command.callback([&session, options] {
        open_desk(session, options->who).withdraw_query(options->hold, options->number);
        session.out << trf("{}: query {} is withdrawn", options->hold, options->number) << '\n';
    });
}

void add_settle(CLI::App& group, Session& session) {
    CLI::App& command =
        *group.add_subcommand("settle", tr("Say what is to become of a query that is unsure or refused"));
    const auto options = add_query_words(command);
    auto was_sent = std::make_shared<bool>(false);
    auto send_again = std::make_shared<bool>(false);
    CLI::Option* sent = command.add_flag("--was-sent", *was_sent, tr("it reached the maker"));
    command.add_flag("--send-again", *send_again, tr("let it go out once more, under the same Message-ID"))
        ->excludes(sent);
    command.callback([&session, options, was_sent, send_again] {
        if (!*was_sent && !*send_again)
            throw Failure(Fault::usage, "post settle", "it is not said what to do",
                          "give --was-sent or --send-again");
        const auto decision = *was_sent ? desk::PostDecision::was_sent : desk::PostDecision::send_again;
        const record::Query query =
            open_desk(session, options->who).settle_query(options->hold, options->number, decision);
        session.out << state_words(options->hold, query) << '\n';
    });
}

void add_unplaced(CLI::App& group, Session& session) {
    struct Options {
        bool all = false;
        bool json = false;
    };
    CLI::App& command =
        *group.add_subcommand("unplaced", tr("List fetched mails that belong to no hold as far as they say"));
    auto options = std::make_shared<Options>();
    command.add_flag("--all", options->all, tr("also those that were placed or set aside"));
    command.add_flag("--json", options->json, tr("print JSON, with their words"));
    command.callback([&session, options] {
        const std::vector<record::UnplacedMail> mails = open_desk(session).unplaced_mails(options->all);
        if (options->json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::UnplacedMail& mail : mails) list.push_back(record::as_json(mail));
            return print_json(session.out, list);
        }
        if (mails.empty()) {
            session.out << tr("No mail is unplaced.") << '\n';
            return;
        }
        TextTable table({trc("number", "no"), trc("when", "received"), trc("from whom", "from"),
                         trc("of a mail", "subject"), tr("why")});
        for (const record::UnplacedMail& mail : mails)
            table.add({std::to_string(mail.number), day_words(mail.received), mail.from, mail.subject,
                       !mail.hold.empty()        ? trf("placed with {}", mail.hold)
                       : !mail.set_aside.empty() ? trf("set aside: {}", mail.set_aside)
                                                 : tr_recorded(mail.why)});
        table.print(session.out);
    });
}

void add_place(CLI::App& group, Session& session) {
    struct Options {
        int number = 0;
        std::string hold;
        std::string aside;
        std::string who;
    };
    CLI::App& command =
        *group.add_subcommand("place", tr("Place an unplaced mail with its hold, or set it aside"));
    auto options = std::make_shared<Options>();
    take_whole_number(
        command.add_option("NUMBER", options->number, tr("the mail's number: see 'post unplaced'")), 1)
        ->required();
    CLI::Option* hold = command.add_option("HOLD", options->hold, tr("the hold it belongs to"));
    command.add_option("--aside", options->aside, tr("why it belongs to none"))->excludes(hold);
    add_by_option(command, options->who);
    command.callback([&session, options] {
        if (options->hold.empty() && options->aside.empty())
            throw Failure(Fault::usage, "post place", "it is not said where to",
                          "name a hold, or give --aside WHY");
        desk::Desk desk = open_desk(session, options->who);
        if (!options->aside.empty()) {
            desk.set_mail_aside(options->number, options->aside);
            session.out << trf("mail {} is set aside", options->number) << '\n';
            return;
        }
        const record::Reply reply = desk.place_mail(options->number, options->hold);
        session.out << trf("{}: mail {} is reply {}", reply.hold, options->number, reply.number) << '\n';
    });
}

}  // namespace

void print_run(Session& session, const desk::OutboxRun& run) {
    bool all_sent = true;
    for (const desk::OutboxLine& line : run.left_over) {
        session.out << trf("From a run that was cut short: {}", outcome_words(line)) << '\n';
        all_sent = all_sent && line.query.posting.value().state != record::PostState::unsure;
    }
    for (const desk::OutboxLine& line : run.tried) {
        session.out << outcome_words(line) << '\n';
        const record::PostState state = line.query.posting.value().state;
        all_sent =
            all_sent && (state == record::PostState::accepted || state == record::PostState::withdrawn);
    }
    if (run.stopped) throw Failure(*run.stopped);
    if (!all_sent) session.exit_code = static_cast<int>(Fault::outside);
}

void add_post_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("post", tr("Queries going out and replies coming in by mail"));
    group.require_subcommand(1);
    add_outbox(group, session);
    add_run(group, session);
    add_fetch(group, session);
    add_withdraw(group, session);
    add_settle(group, session);
    add_unplaced(group, session);
    add_place(group, session);
}

}  // namespace frayhold::cli
