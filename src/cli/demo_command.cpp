// SPDX-License-Identifier: Apache-2.0
#include "cli/demo_command.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <chrono>
#include <filesystem>
#include <memory>
#include <ostream>
#include <sstream>
#include <vector>

#include "cli/command_line.h"
#include "cli/whole_file.h"
#include "cli/words.h"
#include "criteria/advice.h"
#include "desk/shipped.h"
#include "language/speaking.h"
#include "language/tr.h"
#include "post/mailbox.h"
#include "post/query_mail.h"

namespace frayhold::cli {
namespace {

namespace fs = std::filesystem;
using Words = std::vector<std::string>;

constexpr std::string_view keeper = "Ida Fenwright";
constexpr std::string_view competent_person = "Tomas Oberlyn";
constexpr std::string_view keeper_address = "Ida Fenwright <gear@korreltrees.example>";
constexpr std::string_view maker_address = "gear@brandelvoss.example";
constexpr std::string_view rope = "KT-R014";
constexpr std::string_view rigging_rope = "KT-R022";
constexpr const char* makers_limit =
    tr_later("cut out the frayed stretch with at least 0.5 m of sound rope on either side of it");

// In single quotes as a shell wants them; one within is closed, escaped and opened again.
std::string quoted(const std::string& word) {
    std::string out = "'";
    for (const char letter : word) out += letter == '\'' ? std::string("'\\''") : std::string(1, letter);
    return out + "'";
}

std::string as_typed(const Words& words) {
    std::string line = "frayhold";
    for (const std::string& word : words) {
        const bool plain = !word.empty() && word.find_first_of(" '\"&<>;$*?()") == std::string::npos;
        line += " " + (plain ? word : quoted(word));
    }
    return line;
}

fs::path demo_photos() {
    for (const fs::path& folder : desk::shipped_folders("demo-photos"))
        if (fs::exists(folder / "manifest.json")) return folder;
    throw Failure(Fault::outside, "demo-photos", "the demo pictures are not there",
                  "install the program again");
}

fs::path new_folder(const std::string& named) {
    if (!named.empty() && fs::exists(named))
        throw Failure(Fault::input, named, "this folder exists already", "name a new one");
    fs::path folder = named.empty() ? "frayhold-demo" : named;
    for (int turn = 2; fs::exists(folder); ++turn) folder = fmt::format("frayhold-demo-{}", turn);
    std::error_code fault;
    if (!fs::create_directories(folder, fault))
        throw Failure(Fault::outside, folder.string(),
                      trf("the folder cannot be made: {}", system_words(fault)), "name another one");
    return folder;
}

// Runs commands as a person would type them and shows both the line and what it prints.
class Story {
  public:
    Story(Session& session, fs::path folder, int steps)
        : session_(session), folder_(std::move(folder)), photos_(demo_photos()), steps_(steps) {}

    [[nodiscard]] std::string file(std::string_view name) const { return (folder_ / name).string(); }
    [[nodiscard]] std::string photo(std::string_view name) const { return (photos_ / name).string(); }
    [[nodiscard]] std::string store() const { return file("store"); }

    // Lets days pass on the demo's own clock.
    void wait(std::chrono::days days) { clock_ += days; }
    [[nodiscard]] Time now() const { return clock_; }

    void step(std::string_view title) {
        session_.out << fmt::format("\n[{:2}/{}] {}\n", ++step_, steps_, title) << std::flush;
        clock_ += std::chrono::minutes(2);
    }

    void command(Words words, int expected_exit = 0) {
        session_.out << "  $ " << as_typed(words) << '\n' << std::flush;
        std::ostringstream out;
        std::ostringstream err;
        Session inner{out, err, [time = clock_] { return time; }, store(), "", "", 0};
        inner.catalogue = session_.catalogue;
        inner.languages = session_.languages;
        const int code = run(std::move(words), inner);
        std::istringstream lines(out.str() + err.str());
        for (std::string line; std::getline(lines, line);)
            session_.out << (line.empty() ? "" : "    ") << line << '\n';
        session_.out << std::flush;
        if (code != expected_exit)
            throw Failure(Fault::outside, "demo",
                          trf("the step above ended in {} instead of {}", code, expected_exit),
                          "tell the makers of Frayhold");
    }

  private:
    Session& session_;
    fs::path folder_;
    fs::path photos_;
    int steps_;
    int step_ = 0;
    // The demo's first day: an hour after its photos were "taken".
    Time clock_ = std::chrono::sys_days(std::chrono::year(2026) / 2 / 28) + std::chrono::hours(11);
};

void register_items(Story& story) {
    story.step(tr("The keeper enters two ropes in the register"));
    const Words common{"--kind",
                       "rope_low_stretch",
                       "--maker",
                       "Brandel & Voss Ropeworks",
                       "--model",
                       "Arbolane 11",
                       "--standard",
                       "EN 1891 A",
                       "--material",
                       tr("polyamide"),
                       "--size",
                       "11",
                       "--life-from-made",
                       "10",
                       "--place",
                       "Lower Ashmeer",
                       "--by",
                       std::string(keeper)};
    const auto add = [&](Words words) {
        words.insert(words.end(), common.begin(), common.end());
        story.command(std::move(words));
    };
    add({"item", "add", std::string(rope), "--serial", "KT-0417-22", "--length", "45m", "--made", "2022-04",
         "--first-used", "2022-06-13", "--sheath-colour", tr("orange")});
    add({"item", "add", std::string(rigging_rope), "--serial", "KT-0418-22", "--length", "30m", "--made",
         "2022-04", "--first-used", "2022-06-13", "--sheath-colour", tr("blue")});
}

std::string open_hold(Story& story, std::string_view mark, std::string_view seen) {
    story.command(
        {"hold", "open", std::string(mark), "--seen", std::string(seen), "--by", std::string(keeper)});
    desk::Setup setup;
    setup.store = fs::path(story.store());
    const desk::Desk desk(std::move(setup));
    desk::HoldFilter filter;
    filter.text = mark;
    filter.running_only = true;
    return desk.find_holds(filter).at(0).hold.number;
}

void add_photo(Story& story, const std::string& hold, std::string_view name, std::string_view role,
               int expected_exit = 0) {
    story.command(
        {"photo", "add", hold, story.photo(name), "--role", std::string(role), "--by", std::string(keeper)},
        expected_exit);
}

void gather_evidence(Story& story, const std::string& hold) {
    story.step(tr("Her fingers find more than the eye does"));
    story.command({"finding", "add", hold, "--kind", "heavy_fray", "--at", "12.6m", "--side",
                   tr("label side"), "--words", tr("fibres stand off all round, no core felt"), "--by",
                   std::string(keeper)});
    story.step(tr("Photos of the label and of the whole rope are only looked at"));
    add_photo(story, hold, "arbolane-label.jpg", "label");
    add_photo(story, hold, "arbolane-whole.jpg", "whole_item");
    story.step(tr("A blurred photo is refused, with what to do"));
    add_photo(story, hold, "refused-blurred.jpg", "close_up", static_cast<int>(Fault::input));
    story.step(tr("Asking the maker now is refused: evidence is missing"));
    story.command({"hold", "ready", hold, "--by", std::string(keeper)}, static_cast<int>(Fault::refused));
    story.step(
        tr("Two sharp photos with the card beside the rope: measured, each value with its uncertainty"));
    add_photo(story, hold, "arbolane-fray-near-side.jpg", "close_up");
    add_photo(story, hold, "arbolane-fray-far-side.jpg", "other_side");
    story.step(tr("A view that cannot be had, or is not needed, is waived with a reason"));
    story.command({"photo", "waive", hold, "second_view", "--reason",
                   tr("the spot is short and seen whole from both sides"), "--by", std::string(keeper)});
    story.step(tr("The case so far: what is there, what is advised, what comes next"));
    story.command({"hold", "show", hold});
}

void write_makers_reply(Story& story, const std::string& hold, const std::string& file) {
    desk::Setup setup;
    setup.store = fs::path(story.store());
    const desk::Desk desk(std::move(setup));
    post::QueryMail mail;
    mail.from = {"Product safety, Brandel & Voss Ropeworks", std::string(maker_address)};
    mail.to = post::parse_mailbox(keeper_address, "to");
    mail.hold_number = hold;
    mail.subject = "Re: " + desk.case_file(hold).queries.at(0).subject;
    mail.date = story.now();
    mail.message_id = "answer-1@brandelvoss.example";
    mail.references = {desk.case_file(hold).queries.at(0).message_id};
    mail.body = fmt::format(
        "{}\n\n{}\n{}\n{}\n\n{}\nProduct safety\nBrandel & Voss Ropeworks\n", trf("Dear {},", keeper),
        tr("thank you for the case file. The fray is local and we know of no issue with this batch."),
        trf("The rope may go on being used, on one condition: {}.", tr_word(makers_limit)),
        tr("The stretch cut out must be destroyed."), tr("With kind regards"));
    write_whole_file(file, post::message_of(mail));
}

// What goes out names its sender, and is in the language in force, not in English for want of a word.
Words with_sender(Words words) {
    words.insert(words.end(), {"--outfit", "Korrel Tree Crew", "--by", std::string(keeper)});
    if (const std::string language = language::spoken_name(); language != "en")
        words.insert(words.end(), {"--language", language});
    return words;
}

void ask_and_hear(Story& story, const std::string& hold) {
    story.step(
        tr("The evidence pack: PDF, pictures, readings and letter in a folder that sha256sum can prove"));
    story.command(with_sender({"pack", "make", hold, "--ask", "fit", "--ask", "batch", "--ask", "limit", "-o",
                               story.file("pack")}));
    story.step(
        tr("The query to the maker, a mail with the case attached; it is sent by hand and marked sent"));
    story.command(with_sender({"query", "make", hold, "--to", std::string(maker_address), "--from",
                               std::string(keeper_address), "--ask", "fit", "--ask", "batch", "--ask",
                               "limit", "-o", story.file("query.eml")}));
    story.command({"query", "sent", hold, "1", "--by", std::string(keeper)});

    story.wait(std::chrono::days(6));
    story.step(tr("Six days later the maker's reply comes in (the demo wrote it) and is kept whole"));
    write_makers_reply(story, hold, story.file("reply.eml"));
    story.command({"reply", "add", story.file("reply.eml"), "--by", std::string(keeper)});
    story.step(tr("A person reads it and enters the answer in fixed terms"));
    story.command({"reply", "show", hold, "1"});
    story.command({"reply", "answer", hold, "1", "--answer", "fit_with_limit", "--limit",
                   tr_word(makers_limit), "--words", tr("The rope may go on being used, on one condition"),
                   "--by", std::string(keeper)});
}

void decide(Story& story, const std::string& hold) {
    story.step(tr("Returning the rope as it is would go against the maker's answer: refused"));
    story.command(
        {"verdict", "give", hold, "--kind", "return_to_service", "--by", std::string(competent_person)},
        static_cast<int>(Fault::refused));
    story.step(
        tr("The competent person's verdict: cut the fray out, keep both parts; the lengths must add up"));
    story.command({"verdict", "give", hold, "--kind", "cut_and_keep_parts", "--part", "KT-R014A=11.9m",
                   "--part", "KT-R014B=31.9m", "--scrapped", "1.2m", "--limit", tr_word(makers_limit),
                   "--reason", tr("the maker allows it; felt along both parts, nothing found"), "--witness",
                   std::string(keeper), "--by", std::string(competent_person)});
}

void retire_the_other(Story& story) {
    story.step(
        tr("The other rope shows its core: a retire criterion, so the verdict need not wait for the maker"));
    const std::string hold = open_hold(story, rigging_rope, tr("White core seen through the sheath at 4 m"));
    add_photo(story, hold, "arbolane-core.jpg", "close_up");
    story.command({"finding", "add", hold, "--kind", "core_seen", "--at", "4m", "--by", std::string(keeper)});
    story.command({"verdict", "give", hold, "--kind", "retire_and_destroy", "--reason", tr("core seen"),
                   "--witness", std::string(keeper), "--by", std::string(competent_person)});
}

void look_back(Story& story, const std::string& hold) {
    story.step(tr("Where everything stands now, and whether the store is sound"));
    story.command({"item", "list"});
    story.command({"verify"});
    story.step(tr("The closed case as a PDF, and the marked-up photo"));
    story.command(with_sender({"pack", "pdf", hold, "-o", story.file(hold + ".pdf")}));
    story.command({"photo", "show", hold, "4", "--mark", story.file("marked.jpg")});
}

void tell(Session& session, const std::string& named) {
    const auto start = std::chrono::steady_clock::now();
    const fs::path folder = new_folder(named);
    session.out << trf("A whole case in {}. "
                       "The pictures are rendered; the Korrel Tree Crew, its people, gear and makers are "
                       "invented,\nand the demo's clock starts on 2026-02-28. "
                       "With FRAYHOLD_STORE={} each line after a $ can be typed as it stands.",
                       folder.string(), (folder / "store").string())
                << '\n';
    constexpr int steps = 19;
    Story story(session, folder, steps);
    // xgettext:no-c-format
    story.step(tr("The reference card, to print at 100 % and lay beside the item"));
    story.command({"card", "-o", story.file("card.pdf")});
    register_items(story);
    story.step(tr("A doubt: the rope goes on hold, out of service"));
    const std::string hold =
        open_hold(story, rope, tr("Sheath fibres broken over some 3 cm, found while coiling"));
    gather_evidence(story, hold);
    ask_and_hear(story, hold);
    decide(story, hold);
    retire_the_other(story);
    look_back(story, hold);

    const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
    session.out << '\n'
                << trf("Done in {:.0f} s. Look at\n"
                       "  {}   the case as it could be sent: item, findings, photos, questions\n"
                       "  {}   the same case with the verdict\n"
                       "  {}   a measured photo: outline of the fray, value ± U, scale bar\n"
                       "  {}   the mail to the maker, to open in any mail program\n"
                       "and go on with   frayhold --store {} hold show {}",
                       taken.count(), story.file("pack/data/case.pdf"), story.file(hold + ".pdf"),
                       story.file("marked.jpg"), story.file("query.eml"), story.store(), hold)
                << '\n'
                << tr_word(criteria::caution) << '\n';
}

}  // namespace

void add_demo_command(CLI::App& app, Session& session) {
    CLI::App& command =
        *app.add_subcommand("demo", tr("Show a whole case on rendered pictures, in a new folder"));
    auto folder = std::make_shared<std::string>();
    command.add_option("DIR", *folder, tr("the new folder (frayhold-demo where none is named)"));
    add_caution(command);
    command.callback([&session, folder] { tell(session, *folder); });
}

}  // namespace frayhold::cli
