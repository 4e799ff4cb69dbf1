// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>

#include "sample_site.h"

// A case from doubt to verdict through the pages alone.
using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;
using desk::sample::bytes_of;
using desk::sample::picture;

namespace {

constexpr const char* caution = "a competent person come first";

struct Bench {
    desk::sample::DeskFolder folder;
    Site site{setup_of(folder)};
    Browser browser{site};
    const std::string hold = "/hold/H-2026-0001";

    void open_hold() {
        folder.open().add_item(record::sample::rope());
        REQUIRE(browser.post("/hold/new", {{"mark", "K-12"}, {"seen", "fuzzy for a hand's width"}}).status ==
                303);
    }
    void add_views() {
        int shade = 1;
        for (const char* role : {"label", "whole_item", "close_up", "other_side"})
            REQUIRE(browser.upload(hold + "/photo", {{"role", role}}, "photo", picture(shade++)).status ==
                    303);
    }
    void ask() {
        const Answer made = browser.post(hold + "/ask", {{"to", "gear@brandelvoss.example"},
                                                         {"from", "ida@korrel.example"},
                                                         {"ask", "fit"},
                                                         {"reply_days", "14"}});
        REQUIRE(header(made, "Location") == hold + "/query/1");
        REQUIRE(browser.post(hold + "/query/1/sent", {}).status == 303);
    }
};

}  // namespace

TEST_CASE_METHOD(Bench, "A case goes from doubt to verdict by the pages alone") {
    open_hold();
    CHECK(holds(browser.page("/"), "waits for photos and findings"));
    CHECK(holds(browser.page(hold), "Add photo: "));

    const Answer found =
        browser.post(hold + "/finding",
                     {{"kind", "stiff"}, {"at", "3,2 m"}, {"side", "far side"}, {"words", "like a stick"}});
    CHECK(found.status == 303);
    CHECK(holds(browser.page(hold), "like a stick"));

    add_views();
    CHECK(holds(browser.page(hold), "Ask the maker"));
    ask();
    CHECK(holds(browser.page(hold), "reply due 2026-03-14"));

    const std::string mail =
        desk::sample::message("H-2026-0001", "you may keep it <b>on</b> <script>alert(1)</script>");
    const Answer replied = browser.post(hold + "/reply", {{"pasted", mail}});
    REQUIRE(header(replied, "Location") == hold + "/reply/1");
    CHECK(holds(browser.page("/"), "a reply is in"));
    const std::string page = browser.page(hold + "/reply/1");
    CHECK(holds(page, "you may keep it &lt;b&gt;on"));
    CHECK_FALSE(holds(page, "<script>alert"));

    const Answer attachment = site.answer(get(hold + "/reply/1/attachment/1"));
    CHECK(attachment.type == "application/octet-stream");
    CHECK(header(attachment, "Content-Disposition") == "attachment; filename*=UTF-8''note.pdf");
    CHECK(header(attachment, "X-Content-Type-Options") == "nosniff");

    CHECK(browser.post(hold + "/reply/1/answer", {{"answer", "not_fit"}, {"passage", "as written"}}).status ==
          303);
    const Answer refused = browser.post(
        hold + "/verdict", {{"kind", "return_to_service"}, {"by", "Tomas Oberlyn"}, {"limit", ""}});
    CHECK(refused.status == 409);
    CHECK(holds(refused.body, "goes against the rules"));
    CHECK(holds(refused.body, "value=\"Tomas Oberlyn\""));
    CHECK(browser
              .post(hold + "/verdict", {{"kind", "retire_and_destroy"},
                                        {"by", "Tomas Oberlyn"},
                                        {"reason", "the maker says so"},
                                        {"witness", "Ida Fenwright"}})
              .status == 303);
    CHECK(holds(browser.page(hold), "Tomas Oberlyn"));
    CHECK(holds(browser.page("/item", {{"mark", "K-12"}}), "retired"));
    desk::sample::check_sound(folder.open());
}

TEST_CASE_METHOD(Bench, "The verdict bears its giver's name") {
    open_hold();
    CHECK(browser.post(hold + "/verdict", {{"kind", "send_to_maker"}, {"by", "Tomas Oberlyn"}}).status ==
          303);
    CHECK(folder.open().case_file("H-2026-0001").verdict->by == "Tomas Oberlyn");
}

TEST_CASE_METHOD(Bench, "Cutting out takes parts and lengths that add up") {
    open_hold();
    std::multimap<std::string, std::string> fields{{"kind", "cut_and_keep_parts"}, {"by", "Tomas Oberlyn"},
                                                   {"reason", "cut out"},          {"part_mark", "K-12A"},
                                                   {"part_mark", "K-12B"},         {"part_length", "10 m"},
                                                   {"part_length", "x"},           {"scrapped", "1 m"}};
    const Answer refused = browser.post(hold + "/verdict", fields);
    CHECK(refused.status == 422);
    CHECK(holds(refused.body, "length of part 2"));
    CHECK(holds(refused.body, "value=\"K-12B\""));
}

TEST_CASE_METHOD(Bench, "Every page carries the caution") {
    open_hold();
    add_views();
    ask();
    for (const char* path :
         {"", "/photo", "/photo/3", "/finding", "/ask", "/query/1", "/reply", "/verdict"}) {
        CAPTURE(path);
        const Answer answer = site.answer(get(hold + path));
        CHECK(answer.status == 200);
        CHECK(holds(answer.body, caution));
    }
    for (const char* path : {"/", "/hold/new", "/phones"}) CHECK(holds(browser.page(path), caution));
    CHECK(holds(browser.page("/item", {{"mark", "K-12"}}), caution));
}

TEST_CASE_METHOD(Bench, "A photo that cannot be used says so at once, with what to do") {
    open_hold();
    folder.measuring->usable = false;
    folder.measuring->card = false;
    const Answer answer = browser.upload(hold + "/photo", {{"role", "close_up"}}, "photo", picture(9));
    REQUIRE(header(answer, "Location") == hold + "/photo?told=1");
    const std::string page = browser.page(hold + "/photo", {{"told", "1"}});
    CHECK(holds(page, "Card not found: take it again."));
    CHECK(holds(page, "glare on the card: shade it"));
}

TEST_CASE_METHOD(Bench, "A file that is no photo is refused, and nothing is kept") {
    open_hold();
    const Answer answer =
        browser.upload(hold + "/photo", {{"role", "close_up"}}, "photo", bytes_of("<svg onload=alert(1)>"));
    CHECK(answer.status == 422);
    CHECK(folder.open().case_file("H-2026-0001").photos.empty());
    CHECK(browser.post(hold + "/photo", {{"role", "close_up"}}).status == 422);
    CHECK(browser.upload(hold + "/photo", {{"role", "portrait"}}, "photo", picture(3)).status == 422);
}

TEST_CASE_METHOD(Bench, "The queue is paged on the server, narrowed by state and by words") {
    desk::Desk desk = folder.open();
    for (int i = 0; i < 60; ++i) {
        record::Item item = record::sample::rope();
        item.mark = "Q-" + std::to_string(100 + i);
        item.batch = i == 7 ? "seventh" : "common";
        desk.add_item(item);
        desk.open_hold(item.mark, "seen");
    }
    const std::string first = browser.page("/");
    CHECK(holds(first, "page 1 of 2"));
    CHECK(holds(first, "Q-149"));
    CHECK_FALSE(holds(first, "Q-150"));
    CHECK(holds(browser.page("/", {{"page", "2"}}), "Q-150"));
    const std::string found = browser.page("/", {{"words", "seventh"}});
    CHECK(holds(found, "Q-107"));
    CHECK_FALSE(holds(found, "Q-108"));
    CHECK(holds(browser.page("/", {{"state", "verdict"}}), "Nothing is waiting here."));
    CHECK(holds(browser.page("/", {{"words", "nonesuch"}}), "No hold fits these words."));
}

TEST_CASE_METHOD(Bench, "What is drawn on a photo is kept as Web Annotations") {
    open_hold();
    add_views();
    const std::string photo = hold + "/photo/3";
    CHECK(site.answer(get(photo + "/annotations")).status == 404);
    const std::string body =
        R"({"corners":null,"marks":[],"pins":[{"at":[10.25,20],"words":"a cut <here>"}]})";
    const Answer kept = browser.post_json(photo + "/marks", body);
    REQUIRE(kept.status == 200);
    const auto page = nlohmann::json::parse(site.answer(get(photo + "/annotations")).body);
    CHECK(page.at("@context") == "http://www.w3.org/ns/anno.jsonld");
    CHECK(page.at("items").at(0).at("body").at(1).at("value") == "a cut <here>");
    const auto report = nlohmann::json::parse(site.answer(get(photo + "/report")).body);
    CHECK(report.at("drawn").at("pins").at(0).at("at") == nlohmann::json::array({10.25, 20.0}));
    CHECK(holds(browser.page(hold), "drawn on"));
}

TEST_CASE_METHOD(Bench, "A drawing of another form is refused in one sentence, and nothing is kept") {
    open_hold();
    add_views();
    const std::string photo = hold + "/photo/3";
    for (const char* body :
         {"", "[]", "null", "{\"marks\":3}", "{\"corners\":[[1,2]]}", "{\"corners\":\"x\"}",
          R"({"marks":[{"kind":"sound_width","points":[[1,2],[3,4]]}]})",
          R"({"marks":[{"kind":"nothing","points":[]}]})",
          R"({"marks":[{"kind":"distance","points":[[1,2]]}]})", R"({"pins":[{"at":[1e300,0],"words":"x"}]})",
          R"({"pins":[{"at":[0,0],"words":""}]})", R"({"pins":[{"at":["a",0],"words":"x"}]})",
          "{\"pins\":[{\"at\":[0,0],\"words\":\"\xff\"}]}"}) {
        CAPTURE(body);
        const Answer answer = browser.post_json(photo + "/marks", body);
        CHECK(answer.status >= 400);
        CHECK(answer.status < 500);
        CHECK(nlohmann::json::parse(answer.body).contains("error"));
    }
    CHECK(folder.open().case_file("H-2026-0001").marks.empty());
}

TEST_CASE_METHOD(Bench, "The picture comes in tiles that may be kept, and there are no others") {
    open_hold();
    add_views();
    const Answer tile = site.answer(get(hold + "/photo/3/tile/0/0/0"));
    CHECK(tile.type == "image/jpeg");
    CHECK(holds(header(tile, "Cache-Control"), "immutable"));
    for (const char* wrong : {"/tile/0/1/0", "/tile/9/0/0", "/tile/0/0", "/tile/0/0/x", "/flat"})
        CHECK(site.answer(get(hold + "/photo/3" + wrong)).status >= 400);
    const Answer original = site.answer(get(hold + "/photo/3/original"));
    CHECK(original.body == desk::sample::text_of(picture(3)));
}
