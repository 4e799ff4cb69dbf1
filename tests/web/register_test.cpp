// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>

#include "sample_site.h"

// Items, kits, checks, things to print and charts through the pages alone.
using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;

namespace {

struct Bench {
    desk::sample::DeskFolder folder;
    Site site{setup_of(folder)};
    Browser browser{site};

    std::string add_sling(const std::string& mark, const std::string& kit = "bag 1") const {
        REQUIRE(browser
                    .post("/items/new", {{"mark", mark},
                                         {"kind", "sewn_sling"},
                                         {"maker", "Kestrel Loom"},
                                         {"model", "Broadleaf 25"},
                                         {"made", "2024-05"},
                                         {"kit", kit}})
                    .status == 303);
        return mark;
    }
    std::string start_round() const {
        const Answer answer = browser.post("/checks", {{"over", "kit"}, {"kit", "bag 1"}});
        REQUIRE(answer.status == 303);
        return header(answer, "Location");
    }
    Answer act(const std::string& round, const std::string& action, const std::string& mark,
               std::multimap<std::string, std::string> fields = {}) const {
        fields.emplace("mark", mark);
        return browser.post(round + "/" + action, std::move(fields));
    }
    [[nodiscard]] Answer get_page(const std::string& path,
                                  std::multimap<std::string, std::string> fields = {}) {
        return site.answer(get(path, std::move(fields)));
    }
};

bool is_pdf(const Answer& answer) {
    return answer.status == 200 && answer.type == "application/pdf" && answer.body.starts_with("%PDF-");
}

}  // namespace

TEST_CASE_METHOD(
    Bench, "An item is entered and changed by its form; what is wrong is said and what was typed stays") {
    add_sling("KT-S001");
    CHECK(folder.open().item("KT-S001").made == record::sample::day("2024-05-01"));
    const std::string page = browser.page("/item", {{"mark", "KT-S001"}});
    CHECK(holds(page, "at once: it was never checked here"));
    CHECK(holds(browser.page("/item/edit", {{"mark", "KT-S001"}}), "value=\"2024-05-01\""));
    CHECK(browser.post("/item/edit", {{"mark", "KT-S001"}, {"kind", "sewn_sling"}, {"place", "van 2"}})
              .status == 303);
    CHECK(folder.open().item("KT-S001").place == "van 2");
    CHECK(folder.open().item("KT-S001").kit.empty());  // an emptied field is empty
    const Answer wrong =
        browser.post("/items/new", {{"mark", "KT-S002"}, {"kind", "sewn_sling"}, {"made", "last spring"}});
    CHECK(wrong.status == 422);
    CHECK(holds(wrong.body, "last spring"));
    CHECK(holds(wrong.body, "value=\"KT-S002\""));
    CHECK(browser.post("/items/new", {{"mark", "KT-S001"}, {"kind", "sewn_sling"}}).status >= 400);
}

TEST_CASE_METHOD(Bench, "The register is found by words, kit and state, fifty at a time") {
    desk::Desk desk = folder.open();
    for (int i = 0; i < 60; ++i) {
        record::Item item = record::sample::rope();
        item.mark = "Q-" + std::to_string(100 + i);
        item.batch = i == 7 ? "seventh" : "common";
        item.kit = i < 3 ? "bag 1" : "";
        if (i == 0) item.life.years_from_made = 1;
        desk.add_item(item);
    }
    const std::string first = browser.page("/items");
    CHECK(holds(first, "Q-149"));
    CHECK_FALSE(holds(first, "Q-150"));
    CHECK(holds(first, "href=\"/items?page=2\""));
    CHECK(holds(browser.page("/items", {{"page", "2"}}), "Q-150"));
    CHECK(holds(browser.page("/items", {{"words", "seventh"}}), "Q-107"));
    CHECK_FALSE(holds(browser.page("/items", {{"words", "seventh"}}), "Q-108"));
    CHECK_FALSE(holds(browser.page("/items", {{"kit", "bag 1"}}), "Q-103"));
    CHECK(holds(browser.page("/items", {{"status", "retired"}}), "No item fits."));
    const Answer csv = get_page("/items/out", {{"kit", "bag 1"}});
    CHECK(holds(header(csv, "Content-Disposition"), "items.csv"));
    CHECK(std::count(csv.body.begin(), csv.body.end(), '\n') == 4);
    CHECK(holds(browser.page("/items/lives"), "Q-100"));
}

TEST_CASE_METHOD(Bench, "A file is looked over with its columns before anything comes in; all rows or none") {
    const std::string csv =
        "Our mark,Sort,Maker,Colour\r\nKT-S001,sewn_sling,Kestrel Loom,red\r\nKT-S002,sewn_sling,Kestrel "
        "Loom,blue\r\n";
    const auto bytes = desk::sample::bytes_of(csv);
    const Answer looked = browser.upload("/items/in", {}, "csv", bytes);
    CHECK(looked.status == 422);  // no column is the kind
    CHECK(holds(looked.body, "none of its columns is the kind"));
    const std::string key = between(looked.body, "name=\"key\" value=\"");
    REQUIRE(key.size() == 64);
    std::multimap<std::string, std::string> fields{
        {"key", key},      {"heading", "Our mark"}, {"field", "mark"},         {"heading", "Sort"},
        {"field", "kind"}, {"heading", "Colour"},   {"field", "sheath_colour"}};
    const Answer preview = browser.post("/items/in", fields);
    CHECK(preview.status == 200);
    CHECK(holds(preview.body, "2 items would come in"));
    CHECK(folder.open().find_items({}).empty());
    fields.emplace("do", "act");
    CHECK(browser.post("/items/in", fields).status == 303);
    CHECK(folder.open().find_items({}).size() == 2);

    SECTION("with one wrong row none comes in, and the refused rows are a file") {
        const auto wrong =
            desk::sample::bytes_of("mark,kind\r\nKT-S003,sewn_sling\r\nKT-S001,sewn_sling\r\n");
        const Answer refused = browser.upload("/items/in", {}, "csv", wrong);
        CHECK(refused.status == 200);
        CHECK(holds(refused.body, "1 row cannot come in"));
        CHECK(holds(refused.body, "it is in the register already"));
        CHECK_FALSE(holds(refused.body, "Bring them in"));
        const std::string again = between(refused.body, "name=\"key\" value=\"");
        const Answer file = browser.post("/items/in", {{"key", again}, {"do", "refused"}});
        CHECK(holds(file.body, "KT-S001"));
        CHECK_FALSE(holds(file.body, "KT-S003"));
        CHECK(browser.post("/items/in", {{"key", again}, {"do", "act"}}).status == 200);
        CHECK(folder.open().find_items({}).size() == 2);
    }
    CHECK(browser.post("/items/in", {{"key", std::string(64, 'a')}}).status == 422);
    CHECK(browser.post("/items/in", {}).status == 422);
}

TEST_CASE_METHOD(Bench, "A kit says what it is short of") {
    add_sling("KT-S001");
    CHECK(browser.post("/kit", {{"name", "bag 1"}, {"kind", "sewn_sling"}, {"count", "3"}}).status == 303);
    CHECK(holds(browser.page("/kits"), "short: 2 of sewn sling"));
    CHECK(holds(browser.page("/kit", {{"name", "bag 1"}}), "2 of sewn sling"));
    CHECK(browser.post("/kit", {{"name", "bag 1"}, {"kind", "sewn_sling"}, {"count", "many"}}).status == 422);
    CHECK(get_page("/kit", {{"name", "bag 9"}}).status == 422);
}

TEST_CASE_METHOD(Bench, "A check goes step by step to a person's result") {
    add_sling("KT-S001");
    add_sling("KT-S002");
    CHECK(holds(browser.page("/checks"), "KT-S001"));
    const std::string round = start_round();
    CHECK(holds(browser.page(round), "Begin with KT-S001"));
    CHECK(act(round, "step", "KT-S001", {{"step", "stitching"}}).status == 409);
    REQUIRE(act(round, "begin", "KT-S001").status == 303);
    CHECK(act(round, "step", "KT-S001", {{"step", "label_and_identity"}, {"words", "label reads well"}})
              .status == 303);
    const std::string sheet = browser.page(round + "/item", {{"mark", "KT-S001"}});
    CHECK(holds(sheet, "label reads well"));
    // A result of keep is refused while a step is left out.
    const Answer refused = act(round, "result", "KT-S001", {{"result", "keep"}});
    CHECK(refused.status == 409);
    CHECK(holds(refused.body, "it is not finished"));
    REQUIRE(act(round, "pause", "KT-S001").status == 303);
    CHECK(act(round, "step", "KT-S001", {{"step", "stitching"}}).status == 409);
    CHECK(holds(browser.page(round), "Go on with KT-S001"));
    REQUIRE(act(round, "resume", "KT-S001").status == 303);
    for (const char* step : {"stitching", "one_side", "other_side"})
        REQUIRE(act(round, "step", "KT-S001", {{"step", step}}).status == 303);
    CHECK(act(round, "nonsense", "KT-S001").status == 422);
    REQUIRE(act(round, "result", "KT-S001", {{"result", "keep"}}).status == 303);
    CHECK(holds(browser.page(round + "/item", {{"mark", "KT-S001"}}), "Next: KT-S002"));

    REQUIRE(act(round, "begin", "KT-S002").status == 303);
    CHECK(act(round, "finding", "KT-S002", {}).status == 422);
    REQUIRE(act(round, "finding", "KT-S002",
                {{"kind", "stiff"}, {"at", "20 cm"}, {"side", "label side"}, {"words", "like card"}})
                .status == 303);
    REQUIRE(act(round, "result", "KT-S002", {{"result", "hold"}, {"words", "stiff"}}).status == 303);
    CHECK(folder.open().item("KT-S002").status == record::ItemStatus::on_hold);
    CHECK(holds(browser.page("/hold/H-2026-0001"), "like card"));
    CHECK(browser.post(round, {}).status == 303);
    CHECK(browser.post(round, {}).status == 409);

    // The next round shows the last findings first.
    CHECK(holds(browser.page("/item", {{"mark", "KT-S002"}}), "like card"));
    desk::sample::check_sound(folder.open());
}

TEST_CASE_METHOD(Bench, "A rope is felt metre by metre, and a rest is due after a time") {
    desk::Desk desk = folder.open();
    record::Item rope = record::sample::rope();
    rope.kit = "bag 1";
    desk.add_item(rope);
    const std::string round = start_round();
    REQUIRE(act(round, "begin", "K-12").status == 303);
    REQUIRE(act(round, "felt", "K-12", {{"further", "1 m"}}).status == 303);
    REQUIRE(act(round, "felt", "K-12", {{"further", "5 m"}}).status == 303);
    CHECK(holds(browser.page(round + "/item", {{"mark", "K-12"}}), "go on from 6 m"));
    CHECK(act(round, "felt", "K-12", {{"to", "60 m"}}).status == 422);
    CHECK(act(round, "felt", "K-12", {}).status == 422);
    folder.move_clock(std::chrono::minutes(21));
    CHECK(holds(browser.page(round + "/item", {{"mark", "K-12"}}), "rest your hands"));
    REQUIRE(act(round, "felt", "K-12", {{"from", "6"}, {"to", "45 m"}}).status == 303);
    CHECK(holds(browser.page(round + "/item", {{"mark", "K-12"}}), "100 % of 45 m"));
}

TEST_CASE_METHOD(Bench, "A round that cannot start says why") {
    for (const auto& fields :
         std::vector<std::multimap<std::string, std::string>>{{},
                                                              {{"over", "kit"}},
                                                              {{"over", "kit"}, {"kit", "bag 9"}},
                                                              {{"over", "all"}, {"due_by", "soon"}}})
        CHECK(browser.post("/checks", fields).status >= 400);
    CHECK(get_page("/checks", {{"by", "soon"}}).status == 422);
    CHECK(get_page("/round/R-1999-0001").status == 422);
    CHECK(browser.post("/checks/intervals", {{"kind", "sewn_sling"}, {"use", "heavy"}, {"months", "3"}})
              .status == 303);
    CHECK(holds(browser.page("/checks/intervals"), "<td>3</td>"));
    CHECK(browser.post("/checks/intervals", {{"kind", "sewn_sling"}, {"use", "heavy"}, {"months", "999"}})
              .status == 422);
}

TEST_CASE_METHOD(Bench, "Labels, lists, tags and records come as PDF, and what cannot be printed is said") {
    add_sling("KT-S001");
    CHECK(is_pdf(get_page("/print/labels", {{"marks", "KT-S001"}})));
    CHECK(is_pdf(get_page("/print/labels", {{"kit", "bag 1"}, {"sheet", "letter-2x5"}, {"first", "2"}})));
    CHECK(is_pdf(get_page("/print/shelf", {{"kit", "bag 1"}})));
    CHECK(is_pdf(get_page("/item/record", {{"mark", "KT-S001"}})));
    CHECK(is_pdf(get_page("/item/record", {{"mark", "KT-S001"}, {"year", "2026"}})));
    const std::string hold = folder.open().open_hold("KT-S001", "stiff").number;
    CHECK(is_pdf(get_page("/hold/" + hold + "/tag")));
    CHECK(get_page("/print/labels").status == 422);
    CHECK(get_page("/print/labels", {{"marks", "NO-SUCH"}}).status == 422);
    CHECK(get_page("/print/shelf", {{"kit", "bag 1"}, {"place", "van"}}).status == 422);
    CHECK(get_page("/item/record", {{"mark", "KT-S001"}, {"year", "12"}}).status == 422);
}

TEST_CASE_METHOD(Bench, "Charts stand in the page, and what they say is escaped") {
    record::Item item = record::sample::rope();
    item.model = "<script>alert(1)</script>";
    desk::Desk desk = folder.open();
    desk.add_item(item);
    const std::string hold = desk.open_hold("K-12", "stiff").number;
    record::Finding finding;
    finding.kind = "stiff";
    desk.add_finding(hold, finding);
    const std::string page = browser.page("/charts");
    CHECK(holds(page, "Findings by kind"));
    CHECK(holds(page, "<svg "));
    CHECK_FALSE(holds(page, "<script>alert"));
}

TEST_CASE_METHOD(Bench, "A maker's notice shows what it touches before it acts") {
    folder.open().add_item(record::sample::rope());
    std::multimap<std::string, std::string> notice{{"maker", record::sample::rope().maker},
                                                   {"model", record::sample::rope().model},
                                                   {"batch", record::sample::rope().batch},
                                                   {"words", "sheath slips"}};
    CHECK(holds(browser.post("/batch", notice).body, "1 item would go on hold"));
    CHECK(folder.open().item("K-12").status == record::ItemStatus::in_service);
    notice.emplace("do", "act");
    CHECK(browser.post("/batch", notice).status == 303);
    CHECK(folder.open().item("K-12").status == record::ItemStatus::on_hold);
}

TEST_CASE_METHOD(Bench, "Every page of the register carries the caution") {
    add_sling("KT-S001");
    const std::string round = start_round();
    for (const char* path :
         {"/items", "/items/new", "/items/in", "/items/lives", "/items/destroyed", "/kits", "/checks",
          "/checks/intervals", "/print", "/charts", "/batch", "/post", "/maker"}) {
        CAPTURE(path);
        CHECK(holds(browser.page(path), "a competent person come first"));
    }
    CHECK(holds(browser.page(round), "a competent person come first"));
    CHECK(holds(browser.page(round + "/item", {{"mark", "KT-S001"}}), "a competent person come first"));
}
