// SPDX-License-Identifier: Apache-2.0
#include "desk/charts.h"
#include "desk/due_dates.h"
#include "desk/sample_desk.h"
#include "language/error_words.h"
#include "language/speaking.h"
#include "language/tr.h"

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
