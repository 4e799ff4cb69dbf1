// SPDX-License-Identifier: Apache-2.0
#include "cli/reply_command.h"

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/text_table.h"
#include "cli/whole_file.h"
#include "cli/whole_number.h"
#include "cli/words.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/json.h"

namespace frayhold::cli {
namespace {

std::string answer_words() {
    std::vector<std::string> names;
    for (const record::MakersAnswer answer : record::all_makers_answers())
        names.emplace_back(record::name_of(answer));
    return joined(names, ", ");
}

const record::Reply& reply_numbered(const record::CaseFile& file, int number) {
    for (const record::Reply& reply : file.replies)
        if (reply.number == number) return reply;
    throw Failure(Fault::input, file.hold.number, trf("there is no reply {}", number),
                  trf("see 'reply list {}'", file.hold.number));
}

void add_add(CLI::App& group, Session& session) {
    struct Options {
        std::string file;
        std::string hold;
        std::string who;
        bool json = false;
    };
    CLI::App& command = *group.add_subcommand("add", tr("Keep a reply, an .eml file, with its attachments"));
    auto options = std::make_shared<Options>();
    command.add_option("EML", options->file, tr("the message as the mail program saved it"))->required();
    command.add_option("--hold", options->hold,
                       tr("the hold's number; else it is found by what the message answers"));
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, tr("print the reply as JSON"));
    command.callback([&session, options] {
        const std::vector<std::byte> message = read_whole_file(options->file);
        desk::Desk desk = open_desk(session, options->who);
        const record::Reply reply = desk.add_reply(options->hold, message, options->file);
        if (options->json) return print_json(session.out, record::as_json(reply));
        session.out << kept_words(reply) << '\n';
        if (!reply.delivery.empty())
            session.out << "  "
                        << trf("It is a delivery report, not an answer: {}", tr_recorded(reply.delivery))
                        << '\n';
        else if (reply.automatic)
            session.out << "  "
                        << tr("It was sent by a machine (an absence notice or a bounce): not an answer")
                        << '\n';
        else
            session.out << "  " << read_words(reply) << '\n';
    });
}

// Words that came by another way than mail.
void add_words(CLI::App& group, Session& session, const std::string& name, record::ReplyWay way,
               const std::string& help, const std::string& whose) {
    struct Options {
        std::string hold;
        desk::WordsOrder order;
        std::string file;
        std::string when;
        std::string who;
        bool json = false;
    };
    CLI::App& command = *group.add_subcommand(name, help);
    auto options = std::make_shared<Options>();
    options->order.way = way;
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    command.add_option("--from", options->order.from, whose)->required();
    CLI::Option* words = command.add_option("--words", options->order.text, tr("what was said"));
    command.add_option("--file", options->file, tr("a text file with what was said"))->excludes(words);
    command.add_option("--when", options->when, tr("when, such as 2026-02-28T09:30:00Z (default now)"));
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, tr("print the reply as JSON"));
    command.callback([&session, options] {
        if (!options->when.empty()) options->order.received = time_of("--when", options->when);
        if (!options->file.empty()) {
            const std::vector<std::byte> bytes = read_whole_file(options->file);
            options->order.text.assign(reinterpret_cast<const char*>(bytes.data()), bytes.size());
        }
        const record::Reply reply = open_desk(session, options->who).add_words(options->hold, options->order);
        if (options->json) return print_json(session.out, record::as_json(reply));
        session.out << trf("{0}: reply {1} from {2} is kept; enter the answer ('reply answer {0} {1}')",
                           reply.hold, reply.number, reply.from)
                    << '\n';
    });
}

void add_answer(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        int number = 0;
        std::string answer;
        std::string limit;
        std::string words;
        std::string who;
    };
    CLI::App& command = *group.add_subcommand("answer", tr("Enter what the maker answered, as you read it"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    take_whole_number(command.add_option("NUMBER", options->number, tr("the reply's number within the hold")),
                      1)
        ->required();
    command.add_option("--answer", options->answer, trf("one of {}", answer_words()))->required();
    command.add_option("--limit", options->limit, tr("the limit, with fit_with_limit"));
    command.add_option("--words", options->words, tr("the passage it was read from"));
    add_by_option(command, options->who);
    add_caution(command);
    command.callback([&session, options] {
        record::AnswerEntry answer;
        answer.answer =
            choice_of("--answer", options->answer, record::makers_answer_named, record::all_makers_answers(),
                      [](record::MakersAnswer each) { return record::name_of(each); });
        answer.limit = options->limit;
        answer.words = options->words;
        desk::Desk desk = open_desk(session, options->who);
        const record::Reply reply = desk.enter_answer(options->hold, options->number, answer);
        session.out << trf("{}: the maker's answer is entered: {}", reply.hold,
                           record::words_for(answer.answer))
                    << '\n';
    });
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("list", tr("List the replies to a hold"));
    auto hold = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("HOLD", *hold, tr("the hold's number"))->required();
    command.add_flag("--json", *json, tr("print JSON"));
    command.callback([&session, hold, json] {
        const std::vector<record::Reply> replies = open_desk(session).case_file(*hold).replies;
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::Reply& reply : replies) list.push_back(record::as_json(reply));
            return print_json(session.out, list);
        }
        TextTable table({trc("number", "no"), trc("when", "received"), trc("from whom", "from"),
                         trc("of a mail", "subject"), tr("answer")});
        for (const record::Reply& reply : replies)
            table.add({std::to_string(reply.number), day_words(reply.received), reply.from,
                       tr_recorded(reply.subject),
                       reply.answer      ? record::words_for(reply.answer->answer)
                       : reply.automatic ? trc("of a reply", "automatic")
                                         : trc("of a reply", "to be read")});
        table.print(session.out);
    });
}

void print_answer(std::ostream& out, const record::AnswerEntry& entry) {
    const std::string limit = entry.limit.empty() ? "" : ": " + entry.limit;
    out << trf("Entered by {} on {} as: {}", entry.entered_by, day_words(entry.entered),
               record::words_for(entry.answer) + limit)
        << '\n';
    if (!entry.words.empty()) out << "  " << trf("read from \"{}\"", entry.words) << '\n';
}

void add_show(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        int number = 0;
        std::string folder;
        bool json = false;
    };
    CLI::App& command =
        *group.add_subcommand("show", tr("Show a reply's text, or write its attachments to a folder"));
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, tr("the hold's number"))->required();
    take_whole_number(command.add_option("NUMBER", options->number, tr("the reply's number within the hold")),
                      1)
        ->required();
    command.add_option("--attachments", options->folder, tr("write the attachments into this folder"));
    command.add_flag("--json", options->json, tr("print JSON"));
    command.callback([&session, options] {
        if (!options->folder.empty() && !std::filesystem::is_directory(options->folder))
            throw Failure(Fault::usage, "--attachments", trf("there is no folder \"{}\"", options->folder),
                          "make it first or name another");
        const desk::Desk desk = open_desk(session);
        const record::CaseFile file = desk.case_file(options->hold);
        const record::Reply& reply = reply_numbered(file, options->number);
        if (!options->folder.empty())
            for (const record::Attachment& attachment : reply.attachments)
                write_whole_file(std::filesystem::path(options->folder) / attachment.file_name,
                                 desk.kept_bytes(attachment.sha256));
        if (options->json) return print_json(session.out, record::as_json(reply));
        // Translators: when, and on which way.
        const std::string came =
            trf("Received: {}, {}", to_text(reply.received), record::words_for(reply.way));
        session.out << trf("From: {}", reply.from) << '\n'
                    << trf("Subject: {}", tr_recorded(reply.subject)) << '\n'
                    << came << "\n\n"
                    << reply.text << '\n';
        for (const record::Attachment& attachment : reply.attachments)
            session.out << trn("Attached: {1} ({2}, {0} byte)", "Attached: {1} ({2}, {0} bytes)",
                               attachment.size_bytes, attachment.file_name, attachment.media_type)
                        << '\n';
        if (!reply.delivery.empty())
            session.out << trf("Delivery report: {}", tr_recorded(reply.delivery)) << '\n';
        if (reply.answer) print_answer(session.out, *reply.answer);
    });
}

}  // namespace

std::string kept_words(const record::Reply& reply) {
    return trn("{1}: reply {2} from {3} is kept, with {0} attachment",
               "{1}: reply {2} from {3} is kept, with {0} attachments", reply.attachments.size(), reply.hold,
               reply.number, reply.from);
}

std::string read_words(const record::Reply& reply) {
    return trf("Read it ('reply show {0} {1}'), then enter the answer ('reply answer {0} {1}')", reply.hold,
               reply.number);
}

void add_reply_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("reply", tr("Replies of the maker"));
    group.require_subcommand(1);
    add_add(group, session);
    add_words(group, session, "paste", record::ReplyWay::pasted,
              tr("Keep words that came by another way, as a reply"), tr("whose words they are"));
    add_words(group, session, "phone", record::ReplyWay::phone, tr("Note a telephone call as a reply"),
              tr("who was on the telephone"));
    add_answer(group, session);
    add_list(group, session);
    add_show(group, session);
}

}  // namespace frayhold::cli
