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
        request.headers["content-length"] = "100";
        return request;
    }
    [[nodiscard]] std::string code(const std::string& role = "helper") const {
        return between(browser.post("/phones", {{"pair", "yes"}, {"role", role}}).body, "/pair?code=")
            .substr(0, 10);
    }
    // The cookie of a phone paired just now.
    std::string pair(const std::string& role = "helper", const std::string& holder = "Ida Fenwright") {
        const Answer answer = site.answer(
            sent(on_phone("/pair", {{"code", code(role)}, {"name", "yard phone"}, {"holder", holder}})));
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
    const std::string cookie = pair("keeper");
    Request request = sent(on_phone("/hold/new", {{"mark", "K-12"}, {"seen", "x"}}, cookie));
    CHECK(site.answer(request).status == 403);
    request.fields.emplace("token", browser.token());
    request.headers["origin"] = "https://evil.example";
    CHECK(site.answer(request).status == 403);
    request.headers["origin"] = std::string("https://") + net_host;
    CHECK(site.answer(request).status == 303);
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
    const std::string code = pairing.new_code({"/hold/H-2026-0001", record::Role::keeper}, start);
    CHECK(code.size() == 10);
    CHECK(pairing.is_good(code, start + std::chrono::minutes(9)));
    CHECK_FALSE(pairing.is_good(code, start + std::chrono::minutes(10)));
    const auto grant = pairing.use(code, start);
    REQUIRE(grant);
    CHECK(grant->path == "/hold/H-2026-0001");
    CHECK(grant->role == record::Role::keeper);
    CHECK_FALSE(pairing.use(code, start));
}

TEST_CASE("After five wrong codes every code is void") {
    Pairing pairing;
    const std::string code = pairing.new_code({"/", record::Role::helper});
    for (int i = 0; i < 4; ++i) CHECK_FALSE(pairing.is_good("AAAAAAAAAA"));
    CHECK(pairing.is_good(code));
    CHECK_FALSE(pairing.is_good("AAAAAAAAAA"));
    CHECK_FALSE(pairing.is_good(code));
    CHECK(pairing.is_good(pairing.new_code({"/", record::Role::helper})));
}

TEST_CASE("From one address so many tries are let in within a minute, right or wrong") {
    Pairing pairing;
    const auto start = Pairing::Clock::now();
    for (int i = 0; i < Pairing::most_tries; ++i) CHECK(pairing.may_try("192.0.2.9", start));
    CHECK_FALSE(pairing.may_try("192.0.2.9", start));
    CHECK_FALSE(pairing.may_try("192.0.2.9", start + std::chrono::seconds(59)));
    CHECK(pairing.may_try("192.0.2.10", start));
    CHECK(pairing.may_try("192.0.2.9", start + std::chrono::minutes(1)));
}

TEST_CASE_METHOD(Bench, "Who tries too often is told to wait, whatever the code") {
    const std::string good = code();
    for (int i = 0; i < Pairing::most_tries; ++i) (void)site.answer(on_phone("/pair", {{"code", good}}));
    CHECK(site.answer(on_phone("/pair", {{"code", good}})).status == 429);
    CHECK(site.answer(on_phone("/pair/style", {{"code", good}})).status == 429);
}

TEST_CASE_METHOD(Bench, "A stranger's form must be short and say so beforehand") {
    Request request = sent(on_phone("/pair", {{"code", "AAAAAAAAAA"}}));
    request.headers["content-length"] = "10000";
    CHECK(site.refusal_by_head(request)->status == 413);
    request.headers.erase("content-length");
    CHECK(site.refusal_by_head(request)->status == 411);
    request.headers["content-length"] = "100";
    request.headers["transfer-encoding"] = "chunked";
    CHECK(site.refusal_by_head(request)->status == 411);
}
