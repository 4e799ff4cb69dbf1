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

    Bench() {
        desk::Desk desk = folder.open();
        desk.add_item(record::sample::rope());
    }
    [[nodiscard]] Request opening() const {
        return browser.posting("/hold/new", {{"mark", "K-12"}, {"seen", "fuzzy"}});
    }
    [[nodiscard]] std::size_t written() const { return folder.open().journal({}).size(); }
    // The request is answered with that status and writes nothing.
    void check_refused(const Request& request, int status) {
        const std::size_t before = written();
        const Answer answer = site.answer(request);
        CHECK(answer.status == status);
        CHECK(written() == before);
        CHECK(holds(header(answer, "Content-Security-Policy"), "default-src 'none'"));
    }
};

}  // namespace

TEST_CASE_METHOD(Bench, "A form from the bench's own page is done") {
    const Answer answer = site.answer(opening());
    CHECK(answer.status == 303);
    CHECK(holds(header(answer, "Location"), "/hold/H-2026-0001"));
}

TEST_CASE_METHOD(
    Bench, "A request for another host's name is turned away: the name may have been made to point here") {
    for (const char* name :
         {"evil.example", "evil.example:8480", "127.0.0.1", "127.0.0.1:8481", "",
          "127.0.0.1:8480.evil.example", "LOCALHOST:8480@evil.example", "[::1]:8480", "0.0.0.0:8480"}) {
        CAPTURE(name);
        Request request = get("/");
        request.headers["host"] = name;
        check_refused(request, 421);
        request = opening();
        request.headers["host"] = name;
        check_refused(request, 421);
    }
}

TEST_CASE_METHOD(Bench, "A form from another site is turned away") {
    for (const char* origin :
         {"http://evil.example", "null", "https://127.0.0.1:8480", "http://127.0.0.1:9000",
          "http://localhost:8480", "http://127.0.0.1:8480.evil.example"}) {
        CAPTURE(origin);
        Request request = opening();
        request.headers["origin"] = origin;
        check_refused(request, 403);
    }
    for (const char* site_of : {"cross-site", "same-site", "none"}) {
        CAPTURE(site_of);
        Request request = opening();
        request.headers["sec-fetch-site"] = site_of;
        check_refused(request, 403);
    }
}

TEST_CASE_METHOD(Bench, "A form without this start's token or cookie is turned away") {
    Request request = opening();
    request.fields.erase("token");
    check_refused(request, 403);
    request.fields.emplace("token", std::string(64, '0'));
    check_refused(request, 403);
    request = opening();
    request.headers.erase("cookie");
    check_refused(request, 403);
    request.headers["cookie"] = std::string(Gate::bench_cookie) + "=" + std::string(64, '0');
    check_refused(request, 403);
    Site another{setup_of(folder, true)};
    CHECK(another.answer(opening()).status == 403);
}

TEST_CASE_METHOD(Bench, "Only GET and POST are known") {
    for (const char* method : {"PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PROPFIND"}) {
        CAPTURE(method);
        Request request = opening();
        request.method = method;
        check_refused(request, 405);
    }
}

TEST_CASE_METHOD(Bench, "No path reaches a file outside the pages") {
    for (const char* path :
         {"/assets/../layout.mustache", "/assets/..%2flayout.mustache", "/../../etc/passwd", "/assets/",
          "/assets/%00", "/assets/frayhold.css/..", "//etc/passwd", "/assets/../../../etc/passwd",
          "/hold/../../etc/passwd", "/layout", "/.git/config", "/assets/.", "/assets/.."}) {
        CAPTURE(path);
        const Answer answer = site.answer(get(path));
        CHECK(answer.status >= 400);
        CHECK_FALSE(holds(answer.body, "root:"));
        CHECK_FALSE(holds(answer.body, "{{"));
    }
    CHECK(site.answer(get("/assets/frayhold.css")).status == 200);
}

TEST_CASE_METHOD(Bench, "Odd paths and numbers get a clear answer") {
    const std::string hold = folder.open().open_hold("K-12", "fuzzy").number;
    for (const std::string& path : std::vector<std::string>{
             "/hold/H-1999-0001", "/hold/" + hold + "/photo/1", "/hold/" + hold + "/photo/x",
             "/hold/" + hold + "/photo/-1", "/hold/" + hold + "/photo/99999999999999999999",
             "/hold/" + hold + "/query/1", "/hold/" + hold + "/reply/1/attachment/1",
             "/hold/" + hold + "/nothing", "/hold/'; DROP TABLE item; --", "/item", "/hold",
             "/hold/" + hold + "/waive", "/hold/" + std::string(100'000, 'a'),
             std::string("/hold/\xff\xfe")}) {
        CAPTURE(path.substr(0, 80));
        const Answer answer = site.answer(get(path));
        CHECK(answer.status >= 400);
        CHECK(answer.status < 500);
    }
    CHECK(site.answer(get("/", {{"page", "0"}})).status == 200);
    CHECK(site.answer(get("/", {{"page", "1000000"}})).status == 200);
    CHECK(site.answer(get("/", {{"page", "x"}})).status == 422);
    CHECK(site.answer(get("/", {{"state", "nonsense"}, {"words", std::string(10'000, 'w')}})).status == 200);
}

TEST_CASE_METHOD(Bench, "What a person wrote is shown as words, never as HTML") {
    const std::string evil = "<script>alert(1)</script><img src=http://evil.example/x onerror=alert(2)>";
    const std::string hold = folder.open().open_hold("K-12", evil).number;
    for (const std::string& page :
         {browser.page("/"), browser.page("/hold/" + hold), browser.page("/item", {{"mark", "K-12"}}),
          browser.page("/", {{"words", evil}}), browser.page("/hold/new", {{"mark", evil}})}) {
        CHECK_FALSE(holds(page, "<script>alert"));
        CHECK_FALSE(holds(page, "<img src=http"));
    }
}

TEST_CASE_METHOD(Bench, "A phone that is not paired gets nothing") {
    const std::string hold = folder.open().open_hold("K-12", "fuzzy").number;
    for (const std::string& path :
         {std::string("/"), "/hold/" + hold, std::string("/assets/frayhold.css"), std::string("/phones"),
          std::string("/pair"), std::string("/pair/style")}) {
        CAPTURE(path);
        Request request = get(path);
        request.door = Door::net;
        request.headers["host"] = net_host;
        const Answer answer = site.answer(request);
        CHECK(answer.status >= 403);
        CHECK_FALSE(holds(answer.body, "K-12"));
        CHECK_FALSE(holds(answer.body, "<"));
        request.headers["cookie"] = std::string(Gate::device_cookie) + "=" + std::string(64, 'a');
        CHECK(site.answer(request).status >= 403);
    }
    // Nor does the bench's own cookie or token help there.
    Request request = opening();
    request.door = Door::net;
    check_refused(request, 421);
    request.headers["host"] = net_host;
    request.headers["origin"] = std::string("https://") + net_host;
    check_refused(request, 403);
}
