// SPDX-License-Identifier: Apache-2.0
#include <fstream>

#include "desk/charts.h"
#include "desk/due_dates.h"
#include "desk/sample_desk.h"
#include "language/error_words.h"
#include "language/recorded.h"
#include "language/speaking.h"
#include "language/tr.h"
#include "record/evidence.h"

namespace frayhold::desk {
namespace {

using language::Languages;
using language::Speaking;

Languages test_languages() {
    return Languages({TEST_CATALOGUES});
}

// A case in which everything the program writes into the record by itself comes up: a check that ends in a
// hold, a finding with its place, a telephone call, a verdict against the rules, a mail nobody can read.
std::string whole_case(Desk& desk) {
    record::Item sling;
    sling.mark = "S-1";
    sling.kind = record::Kind::sewn_sling;
    desk.add_item(sling);
    const std::string round = desk.start_round({}).round.number;
    desk.begin_check(round, "S-1");
    record::Finding finding;
    finding.kind = "stiff";
    finding.station = Millimetres(300.0);
    desk.add_check_finding(round, "S-1", finding);
    CheckOrder check;
    check.result = record::CheckResult::hold;
    check.words = "stiff near the eye";
    desk.finish_check(round, "S-1", check);

    const std::string hold = sample::asked_hold(desk);
    desk.add_finding(hold, finding);
    WordsOrder words;
    words.way = record::ReplyWay::phone;
    words.from = "Edda Vos";
    words.text = "we cannot say from here";
    desk.add_words(hold, words);
    desk.enter_answer(hold, 1, sample::answer(record::MakersAnswer::cannot_say));
    desk.give_verdict(hold, sample::verdict_order(record::VerdictKind::return_to_service, "for the stand"));

    const ReplyFolder folder{"imaps://a",
                             [](const post::FetchOrder&, const std::function<void(post::FetchedMail)>& take) {
                                 take({{1, 1}, sample::bytes_of("no message"), 10});
                                 take({{1, 2}, {}, 73'000'000});
                             }};
    desk.fetch_replies(folder);
    return hold;
}

// What the program wrote: an entry's hash is another in every store.
std::vector<std::string> written(const Desk& desk, const std::string& hold) {
    std::vector<std::string> lines;
    for (const record::JournalEntry& entry : desk.journal({}))
        lines.push_back(entry.action + " " + entry.subject + " " + entry.details);
    const record::CaseFile file = desk.case_file(hold);
    for (const record::Finding& finding : file.findings)
        for (const record::AdviceEntry& advice : finding.advice) lines.push_back(advice.because);
    for (const record::Reply& reply : file.replies) lines.push_back(reply.subject);
    for (const std::string& against : file.verdict->given_against) lines.push_back(against);
    for (const HoldLine& line : desk.find_holds({})) lines.push_back(line.hold.seen);
    for (const record::UnplacedMail& mail : desk.unplaced_mails()) lines.push_back(mail.why);
    return lines;
}

}  // namespace

TEST_CASE("What is written into the record is the same whatever language is in force") {
    const sample::DeskFolder english_folder;
    Desk english = english_folder.open();
    const std::string hold = whole_case(english);

    Languages languages = test_languages();
    const sample::DeskFolder german_folder;
    Desk german = german_folder.open();
    {
        const Speaking speaking(languages.of("de"));
        CHECK(whole_case(german) == hold);
    }
    CHECK(written(german, hold) == written(english, hold));
    sample::check_sound(german);
}

TEST_CASE("What is kept is shown in the language in force") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    desk.add_item(record::sample::rope());
    const std::string round = desk.start_round({}).round.number;
    desk.begin_check(round, "K-12");
    for (const record::CheckStep step : {record::CheckStep::label_and_identity, record::CheckStep::stitching})
        desk.do_step(round, "K-12", step, "");
    desk.felt_stretch(round, "K-12", std::nullopt, Millimetres(45'000.0));
    record::Finding finding;
    finding.kind = "stiff";
    finding.station = Millimetres(7000.0);
    finding.words = "bends, but not readily";
    desk.add_check_finding(round, "K-12", finding);
    CheckOrder order;
    order.words = "feel it again";
    order.result = record::CheckResult::keep_and_watch;
    const std::vector<std::string> against = desk.finish_check(round, "K-12", order).against;

    const std::string next = desk.start_round({}).round.number;
    desk.begin_check(next, "K-12");
    finding.kind = "core_seen";
    desk.add_check_finding(next, "K-12", finding);
    order.result = record::CheckResult::hold;
    const std::string hold = desk.finish_check(next, "K-12", order).hold;
    desk.give_verdict(hold,
                      sample::verdict_order(record::VerdictKind::return_to_service, "for the stand only"));
    const record::CaseFile file = desk.case_file(hold);

    Languages languages = test_languages();
    const Speaking german(languages.of("de"));
    REQUIRE(against.size() == 1);
    CHECK(tr_recorded(against.front()) ==
          "Steife Stelle, nicht glänzend: vom markierten Ende an: 7 m: bends, but not readily");
    CHECK(tr_recorded(file.hold.seen) == "Bei einer Prüfung gefunden: " + next +
                                             ": feel it again: Kern zu sehen: vom markierten Ende an: 7 m: "
                                             "bends, but not readily");
    std::vector<std::string> grounds;
    for (const std::string& ground : file.verdict->given_against) grounds.push_back(tr_recorded(ground));
    CHECK(grounds == std::vector<std::string>{
                         "noch kein Foto: das Etikett", "noch kein Foto: der ganze Gegenstand",
                         "noch kein Foto: der Schaden von nahem",
                         "noch kein Foto: der Schaden von der anderen Seite",
                         "noch kein Foto: der Schaden ein zweites Mal", "der Hersteller wurde nicht gefragt",
                         "Aussonderungskriterium erfüllt: Kern zu sehen: übliche Praxis"});
}

TEST_CASE("A wrong mark is named by its field alone in every language") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    Languages languages = test_languages();
    const Speaking german(languages.of("de"));
    record::Item item;
    item.mark = "K-12 ";
    CHECK(testing::failure_of([&] { desk.add_item(item); }).where == "Kennung");
}

TEST_CASE("What every action wrote into the journal is called by words") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    whole_case(desk);
    desk.set_kit_need("bag 1", record::Kind::sewn_sling, 2);
    record::Maker maker;
    maker.name = "Brandel & Voss Ropeworks";
    maker.addresses = {"gear@brandelvoss.example"};
    desk.add_maker(maker);
    desk.edit_maker(maker.name, [](record::Maker& changed) { changed.note = "by mail only"; });
    for (const record::JournalEntry& entry : desk.journal({}))
        CHECK(record::action_words(entry.action) != entry.action);
}

TEST_CASE("An export is the same for a program whatever language is in force") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::open_hold(desk);
    const testing::TempFolder out;
    desk.export_all(out.path() / "english");
    Languages languages = test_languages();
    {
        const Speaking german(languages.of("de"));
        CHECK(record::evidence_list(desk.case_file(hold)).front().words == "noch kein Foto: das Etikett");
        desk.export_all(out.path() / "german");
    }
    const auto text_of = [](const std::filesystem::path& path) {
        std::ifstream in(path, std::ios::binary);
        return std::string(std::istreambuf_iterator<char>(in), {});
    };
    for (const std::string& file : {std::string("items.json"), "holds/" + hold + ".json"}) {
        const std::string english = text_of(out.path() / "english" / file);
        CHECK(english.find("K-12") != std::string::npos);
        CHECK(text_of(out.path() / "german" / file) == english);
    }
}

TEST_CASE("What is refused is said in the language in force, with the rules it goes against") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    const std::string hold = sample::answered_hold(desk, record::MakersAnswer::cannot_say);
    Languages languages = test_languages();
    const Speaking german(languages.of("de"));
    CHECK(error_words(testing::failure_of([&] { static_cast<void>(desk.item("X-9")); })) ==
          "Stück X-9: dieses Stück steht nicht im Verzeichnis; sieh seine Kennung in der Liste nach");
    const Error error = testing::failure_of(
        [&] { desk.give_verdict(hold, sample::verdict_order(record::VerdictKind::return_to_service)); });
    CHECK(error.where == "Sperre " + hold);
    CHECK(error.what.find("geht gegen die Regeln: der Hersteller kann es nicht sagen") != std::string::npos);
}

TEST_CASE("A letter's papers are made in its language, and its errors said in the person's") {
    Languages languages = test_languages();
    const sample::DeskFolder folder;
    std::string spoken;
    bool fails = false;
    Setup setup = folder.setup();
    setup.languages = std::make_shared<Languages>(std::vector<std::filesystem::path>{TEST_CATALOGUES});
    setup.compose = [&](const record::CaseFile& file, const QueryOrder& order, const KeptBytes& bytes,
                        const std::string& who, Time now) {
        spoken = language::spoken_name();
        if (fails)
            throw Failure(Fault::input, trf("hold {}", file.hold.number), "it is refused", "try again");
        return sample::compose(file, order, bytes, who, now);
    };
    Desk desk(std::move(setup));
    const std::string hold = sample::open_hold(desk);
    sample::add_all_views(desk, hold);
    QueryOrder order = sample::query_order();
    order.language = "de";
    desk.make_query(hold, order);
    CHECK(spoken == "de");
    CHECK(language::spoken_name() == "en");

    const Speaking german(languages.of("de"));
    // There is a letter in it, and no catalogue.
    order.language = "it";
    desk.make_query(hold, order);
    CHECK(spoken == "en");
    fails = true;
    CHECK(testing::failure_of([&] { desk.make_query(hold, order); }).where == "Sperre " + hold);
    CHECK(language::spoken_name() == "de");
}

TEST_CASE("Charts and the calendar are in the language in force; names stay as they are") {
    const sample::DeskFolder folder;
    Desk desk = folder.open();
    record::Item sling;
    sling.mark = "S-1";
    sling.kind = record::Kind::sewn_sling;
    sling.place = "van";
    desk.add_item(sling);
    const std::string hold = desk.open_hold("S-1", "stiff").number;
    record::Finding finding;
    finding.kind = "stiff";
    desk.add_finding(hold, finding);
    const std::string asked = sample::asked_hold(desk);

    Languages languages = test_languages();
    const Speaking german(languages.of("de"));
    std::string all;
    for (const Chart& chart : charts_of(desk.figures(), desk.today())) all += chart.svg;
    CHECK(all.find("Funde nach Art") != std::string::npos);
    CHECK(all.find("nicht aufgeschrieben") != std::string::npos);
    CHECK(all.find(">van<") != std::string::npos);
    CHECK(calendar_of(desk.awaited_replies(), *folder.now).find(asked + ": Antwort fällig zu K-12") !=
          std::string::npos);
}

}  // namespace frayhold::desk
