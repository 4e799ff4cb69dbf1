// SPDX-License-Identifier: Apache-2.0
#include "cli/reply_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <ostream>

#include "cli/case_text.h"
#include "cli/text_table.h"
#include "cli/whole_file.h"
#include "cli/words.h"
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
    throw Failure(Fault::input, file.hold.number, fmt::format("there is no reply {}", number),
                  fmt::format("see 'reply list {}'", file.hold.number));
}

void add_add(CLI::App& group, Session& session) {
    struct Options {
        std::string file;
        std::string hold;
        std::string who;
        bool json = false;
    };
    CLI::App& command = *group.add_subcommand("add", "Keep a reply, an .eml file, with its attachments");
    auto options = std::make_shared<Options>();
    command.add_option("EML", options->file, "the message as the mail program saved it")->required();
    command.add_option("--hold", options->hold,
                       "the hold's number; else it is found by what the message answers");
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, "print the reply as JSON");
    command.callback([&session, options] {
        const std::vector<std::byte> message = read_whole_file(options->file);
        desk::Desk desk = open_desk(session, options->who);
        const record::Reply reply = desk.add_reply(options->hold, message, options->file);
        if (options->json) return print_json(session.out, record::as_json(reply));
        session.out << fmt::format("{}: reply {} from {} is kept, with {} attachments\n", reply.hold,
                                   reply.number, reply.from, reply.attachments.size());
        if (!reply.delivery.empty())
            session.out << fmt::format("  It is a delivery report, not an answer: {}\n", reply.delivery);
        else if (reply.automatic)
            session.out << "  It was sent by a machine (an absence notice or a bounce): not an answer\n";
        else
            session.out << fmt::format(
                "  Read it ('reply show {} {}'), then enter the answer ('reply answer {} {}')\n", reply.hold,
                reply.number, reply.hold, reply.number);
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
    command.add_option("HOLD", options->hold, "the hold's number")->required();
    command.add_option("--from", options->order.from, whose)->required();
    CLI::Option* words = command.add_option("--words", options->order.text, "what was said");
    command.add_option("--file", options->file, "a text file with what was said")->excludes(words);
    command.add_option("--when", options->when, "when, such as 2026-02-28T09:30:00Z (default now)");
    add_by_option(command, options->who);
    command.add_flag("--json", options->json, "print the reply as JSON");
    command.callback([&session, options] {
        if (!options->when.empty()) options->order.received = time_of("--when", options->when);
        if (!options->file.empty()) {
            const std::vector<std::byte> bytes = read_whole_file(options->file);
            options->order.text.assign(reinterpret_cast<const char*>(bytes.data()), bytes.size());
        }
        const record::Reply reply = open_desk(session, options->who).add_words(options->hold, options->order);
        if (options->json) return print_json(session.out, record::as_json(reply));
        session.out << fmt::format(
            "{0}: reply {1} from {2} is kept; enter the answer ('reply answer {0} {1}')\n", reply.hold,
            reply.number, reply.from);
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
    CLI::App& command = *group.add_subcommand("answer", "Enter what the maker answered, as you read it");
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, "the hold's number")->required();
    command.add_option("NUMBER", options->number, "the reply's number within the hold")->required();
    command.add_option("--answer", options->answer, "one of " + answer_words())->required();
    command.add_option("--limit", options->limit, "the limit, with fit_with_limit");
    command.add_option("--words", options->words, "the passage it was read from");
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
        session.out << fmt::format("{}: the maker's answer is entered: {}\n", reply.hold,
                                   record::words_for(answer.answer));
    });
}

void add_list(CLI::App& group, Session& session) {
    CLI::App& command = *group.add_subcommand("list", "List the replies to a hold");
    auto hold = std::make_shared<std::string>();
    auto json = std::make_shared<bool>(false);
    command.add_option("HOLD", *hold, "the hold's number")->required();
    command.add_flag("--json", *json, "print JSON");
    command.callback([&session, hold, json] {
        const std::vector<record::Reply> replies = open_desk(session).case_file(*hold).replies;
        if (*json) {
            auto list = nlohmann::ordered_json::array();
            for (const record::Reply& reply : replies) list.push_back(record::as_json(reply));
            return print_json(session.out, list);
        }
        TextTable table({"no", "received", "from", "subject", "answer"});
        for (const record::Reply& reply : replies)
            table.add({std::to_string(reply.number), day_words(reply.received), reply.from, reply.subject,
                       reply.answer      ? std::string(record::words_for(reply.answer->answer))
                       : reply.automatic ? "automatic"
                                         : "to be read"});
        table.print(session.out);
    });
}

void add_show(CLI::App& group, Session& session) {
    struct Options {
        std::string hold;
        int number = 0;
        std::string folder;
        bool json = false;
    };
    CLI::App& command =
        *group.add_subcommand("show", "Show a reply's text, or write its attachments to a folder");
    auto options = std::make_shared<Options>();
    command.add_option("HOLD", options->hold, "the hold's number")->required();
    command.add_option("NUMBER", options->number, "the reply's number within the hold")->required();
    command.add_option("--attachments", options->folder, "write the attachments into this folder")
        ->check(CLI::ExistingDirectory);
    command.add_flag("--json", options->json, "print JSON");
    command.callback([&session, options] {
        const desk::Desk desk = open_desk(session);
        const record::CaseFile file = desk.case_file(options->hold);
        const record::Reply& reply = reply_numbered(file, options->number);
        if (!options->folder.empty())
            for (const record::Attachment& attachment : reply.attachments)
                write_whole_file(std::filesystem::path(options->folder) / attachment.file_name,
                                 desk.kept_bytes(attachment.sha256));
        if (options->json) return print_json(session.out, record::as_json(reply));
        session.out << fmt::format("From: {}\nSubject: {}\nReceived: {}, {}\n\n{}\n", reply.from,
                                   reply.subject, to_text(reply.received), record::words_for(reply.way),
                                   reply.text);
        for (const record::Attachment& attachment : reply.attachments)
            session.out << fmt::format("Attached: {} ({}, {} bytes)\n", attachment.file_name,
                                       attachment.media_type, attachment.size_bytes);
        if (!reply.delivery.empty()) session.out << fmt::format("Delivery report: {}\n", reply.delivery);
        if (reply.answer)
            session.out << fmt::format(
                "Entered by {} on {} as: {}{}\n{}", reply.answer->entered_by,
                day_words(reply.answer->entered), record::words_for(reply.answer->answer),
                reply.answer->limit.empty() ? "" : ": " + reply.answer->limit,
                reply.answer->words.empty() ? "" : "  read from \"" + reply.answer->words + "\"\n");
    });
}

}  // namespace

void add_reply_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("reply", "Replies of the maker");
    group.require_subcommand(1);
    add_add(group, session);
    add_words(group, session, "paste", record::ReplyWay::pasted,
              "Keep words that came by another way, as a reply", "whose words they are");
    add_words(group, session, "phone", record::ReplyWay::phone, "Note a telephone call as a reply",
              "who was on the telephone");
    add_answer(group, session);
    add_list(group, session);
    add_show(group, session);
}

}  // namespace frayhold::cli
