// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>

#include "sample_site.h"

using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;

namespace {

struct Bench {
    desk::sample::DeskFolder folder;
    Site site{setup_of(folder, true)};
    Browser browser{site};

    [[nodiscard]] static Request on_phone(const std::string& path,
                                          std::multimap<std::string, std::string> fields = {},
                                          const std::string& cookie = "") {
        Request request = get(path, std::move(fields));
        request.door = Door::net;
        request.headers["host"] = net_host;
        if (!cookie.empty()) request.headers["cookie"] = cookie;
        return request;
    }
    [[nodiscard]] static Request sent(Request request) {
        request.method = "POST";
        request.headers["origin"] = std::string("https://") + net_host;
        return request;
    }
    [[nodiscard]] std::string code() const {
        return between(browser.post("/phones", {{"pair", "yes"}}).body, "/pair?code=").substr(0, 10);
    }
    // The cookie of a phone paired just now.
    std::string pair() {
        const Answer answer = site.answer(
            sent(on_phone("/pair", {{"code", code()}, {"name", "yard phone"}, {"holder", "Ida Fenwright"}})));
        REQUIRE(answer.status == 303);
        const std::string line = header(answer, "Set-Cookie");
        CHECK(holds(line, "HttpOnly"));
        CHECK(holds(line, "SameSite=Strict"));
        CHECK(holds(line, "Secure"));
        return line.substr(0, line.find(';'));
    }
};

}  // namespace

TEST_CASE_METHOD(Bench, "A phone pairs with a one-time code, works, and is revoked") {
    folder.open().add_item(record::sample::rope());
    const std::string hold = "/hold/" + folder.open().open_hold("K-12", "fuzzy").number;
    const std::string cookie = pair();
    const Answer page = site.answer(on_phone(hold + "/photo", {}, cookie));
    CHECK(page.status == 200);
    CHECK(holds(page.body, "capture=\"environment\""));

    Request upload =
        sent(on_phone(hold + "/photo",
                      {{"role", "label"}, {"token", between(page.body, "name=\"token\" value=\"")}}, cookie));
    upload.files.emplace("photo", UploadedFile{"IMG.jpg", desk::sample::text_of(desk::sample::picture(1))});
    CHECK(site.answer(upload).status == 303);
    CHECK(folder.open().case_file("H-2026-0001").photos.at(0).added_by == "Ida Fenwright");

    CHECK(holds(browser.page("/phones"), "yard phone"));
    CHECK(browser.post("/phones", {{"revoke", "1"}}).status == 303);
    CHECK(site.answer(on_phone(hold, {}, cookie)).status == 403);
    CHECK(browser.post("/phones", {{"revoke", "1"}}).status == 409);
    CHECK(browser.post("/phones", {{"revoke", "7"}}).status == 422);
}

TEST_CASE_METHOD(Bench, "A phone's form without the token or from another site is turned away") {
    folder.open().add_item(record::sample::rope());
    const std::string cookie = pair();
    Request request = sent(on_phone("/hold/new", {{"mark", "K-12"}, {"seen", "x"}}, cookie));
    CHECK(site.answer(request).status == 403);
    request.fields.emplace("token", browser.token());
    request.headers["origin"] = "https://evil.example";
    CHECK(site.answer(request).status == 403);
    request.headers["origin"] = std::string("https://") + net_host;
    CHECK(site.answer(request).status == 303);
}

TEST_CASE_METHOD(Bench, "Letters, verdicts and other phones are for the bench") {
    folder.open().add_item(record::sample::rope());
    const std::string hold = "/hold/" + folder.open().open_hold("K-12", "fuzzy").number;
    const std::string cookie = pair();
    for (const std::string& path :
         {hold + "/verdict", hold + "/ask", hold + "/reply", std::string("/phones")}) {
        CAPTURE(path);
        CHECK(site.answer(on_phone(path, {}, cookie)).status == 409);
    }
}

TEST_CASE_METHOD(Bench, "A code pairs one phone only") {
    const std::string one = code();
    const auto with = [&](const std::string& name) {
        return sent(on_phone("/pair", {{"code", one}, {"name", name}, {"holder", "Ida"}}));
    };
    CHECK(site.answer(on_phone("/pair", {{"code", one}})).status == 200);
    CHECK(site.answer(with("")).status == 422);
    CHECK(site.answer(with("first")).status == 303);
    CHECK(site.answer(with("second")).status == 403);
    CHECK(folder.open().devices().size() == 1);
}

TEST_CASE("A code is good for ten minutes") {
    Pairing pairing;
    const auto start = Pairing::Clock::now();
    const std::string code = pairing.new_code("/hold/H-2026-0001", start);
    CHECK(code.size() == 10);
    CHECK(pairing.is_good(code, start + std::chrono::minutes(9)));
    CHECK_FALSE(pairing.is_good(code, start + std::chrono::minutes(10)));
    CHECK(pairing.use(code, start) == "/hold/H-2026-0001");
    CHECK_FALSE(pairing.use(code, start));
}

TEST_CASE("After five wrong codes every code is void") {
    Pairing pairing;
    const std::string code = pairing.new_code("/");
    for (int i = 0; i < 4; ++i) CHECK_FALSE(pairing.is_good("AAAAAAAAAA"));
    CHECK(pairing.is_good(code));
    CHECK_FALSE(pairing.is_good("AAAAAAAAAA"));
    CHECK_FALSE(pairing.is_good(code));
    CHECK(pairing.is_good(pairing.new_code("/")));
}
