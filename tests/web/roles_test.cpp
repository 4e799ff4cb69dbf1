// SPDX-License-Identifier: Apache-2.0
#include <catch2/catch.hpp>

#include "sample_site.h"
#include "web/route.h"

// Each paired phone is bound to one role, and every route lets in only those it is for.
using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;

namespace {

struct Phones {
    desk::sample::DeskFolder folder;
    Site site{setup_of(folder, true)};
    Browser browser{site};

    [[nodiscard]] Request asked(const std::string& method, const std::string& path,
                                const std::string& cookie) const {
        Request request = get(path);
        request.method = method;
        request.door = Door::net;
        request.headers["host"] = net_host;
        request.headers["cookie"] = cookie;
        request.headers["content-length"] = "100";
        if (method == "POST") {
            request.headers["origin"] = std::string("https://") + net_host;
            request.fields.emplace("token", browser.token());
        }
        return request;
    }

    std::string pair(const std::string& role, const std::string& holder) {
        const std::string code =
            between(browser.post("/phones", {{"pair", "yes"}, {"role", role}}).body, "/pair?code=")
                .substr(0, 10);
        Request request = asked("POST", "/pair", "");
        request.fields = {{"code", code}, {"name", role + " phone"}, {"holder", holder}};
        const Answer answer = site.answer(request);
        REQUIRE(answer.status == 303);
        const std::string line = header(answer, "Set-Cookie");
        return line.substr(0, line.find(';'));
    }

    // The route's path with something in place of its signs.
    [[nodiscard]] static std::string path_of(const Route& route) {
        std::string path;
        for (const char sign : route.path) {
            if (sign == '*')
                path += path.empty() || path.back() != 'x' ? "x" : "";
            else
                path += sign == '#' ? '1' : sign;
        }
        return "/" + path;
    }

    // Which of a role's requests were turned away: "GET hold/new".
    std::vector<std::string> turned_away(const std::string& role) {
        const std::string cookie = pair(role, "Ida Fenwright");
        std::vector<std::string> refused;
        for (const Route& route : routes())
            for (const std::string method : {"GET", "POST"}) {
                if (route.methods.find(method) == std::string_view::npos) continue;
                const std::size_t before = folder.open().journal({}).size();
                const Answer answer = site.answer(asked(method, path_of(route), cookie));
                if (answer.status != 403) continue;
                CHECK(folder.open().journal({}).size() == before);
                refused.push_back(method + " " + std::string(route.path));
            }
        return refused;
    }

    // What the table says of a role, for comparison with what the site does.
    static std::vector<std::string> said(record::Role role) {
        std::vector<std::string> refused;
        for (const Route& route : routes())
            for (const std::string method : {"GET", "POST"})
                if (route.methods.find(method) != std::string_view::npos && !may(role, route.task))
                    refused.push_back(method + " " + std::string(route.path));
        return refused;
    }
};

bool has(const std::vector<std::string>& list, const std::string& entry) {
    return std::find(list.begin(), list.end(), entry) != list.end();
}

}  // namespace

TEST_CASE_METHOD(Phones, "A helper takes photos and notes findings, and nothing else") {
    const std::vector<std::string> refused = turned_away("helper");
    CHECK(refused == said(record::Role::helper));
    for (const char* route :
         {"GET hold/new", "POST hold/new", "GET hold/*/ask", "POST hold/*/query/#/*", "GET hold/*/query/#/**",
          "GET hold/*/reply/#/**", "POST hold/*/reply", "GET hold/*/verdict", "POST hold/*/verdict",
          "GET phones", "POST phones", "GET post", "POST maker"}) {
        CAPTURE(route);
        CHECK(has(refused, route));
    }
    for (const char* route :
         {"GET ", "GET hold/*", "POST hold/*/photo", "POST hold/*/finding", "POST hold/*/waive"}) {
        CAPTURE(route);
        CHECK_FALSE(has(refused, route));
    }
}

TEST_CASE_METHOD(Phones, "A keeper opens holds and asks the maker, but gives no verdict") {
    const std::vector<std::string> refused = turned_away("keeper");
    CHECK(refused == said(record::Role::keeper));
    for (const char* route : {"GET hold/*/verdict", "POST hold/*/verdict", "GET phones", "POST phones"}) {
        CAPTURE(route);
        CHECK(has(refused, route));
    }
    for (const char* route : {"POST hold/new", "POST hold/*/ask", "POST hold/*/query/#/*",
                              "POST hold/*/reply/#/answer", "POST hold/*/photo"}) {
        CAPTURE(route);
        CHECK_FALSE(has(refused, route));
    }
}

TEST_CASE_METHOD(Phones,
                 "A competent person gives verdicts and reads what was written, but writes no letter") {
    const std::vector<std::string> refused = turned_away("competent_person");
    CHECK(refused == said(record::Role::competent_person));
    for (const char* route : {"POST hold/new", "POST hold/*/ask", "POST hold/*/query/#/*", "GET phones"}) {
        CAPTURE(route);
        CHECK(has(refused, route));
    }
    for (const char* route : {"GET hold/*/verdict", "POST hold/*/verdict", "GET hold/*/query/#/**",
                              "GET hold/*/reply/#/**", "POST hold/*/finding"}) {
        CAPTURE(route);
        CHECK_FALSE(has(refused, route));
    }
}

TEST_CASE_METHOD(Phones, "A verdict from a phone bears its holder's name, whatever the form says") {
    folder.open().add_item(record::sample::rope());
    const std::string hold = folder.open().open_hold("K-12", "fuzzy").number;
    const std::string cookie = pair("competent_person", "Tomas Oberlyn");
    Request request = asked("POST", "/hold/" + hold + "/verdict", cookie);
    request.fields.emplace("kind", "send_to_maker");
    request.fields.emplace("by", "Somebody Else");
    CHECK(site.answer(request).status == 303);
    CHECK(folder.open().case_file(hold).verdict->by == "Tomas Oberlyn");
}

TEST_CASE_METHOD(Phones, "A role cannot be changed by the phone, and an unknown one is not given") {
    CHECK(browser.post("/phones", {{"pair", "yes"}, {"role", "owner"}}).status == 422);
    CHECK(browser.post("/phones", {{"pair", "yes"}}).status == 422);
    const std::string code =
        between(browser.post("/phones", {{"pair", "yes"}, {"role", "helper"}}).body, "/pair?code=")
            .substr(0, 10);
    Request request = asked("POST", "/pair", "");
    request.fields = {{"code", code}, {"name", "a"}, {"holder", "b"}, {"role", "competent_person"}};
    CHECK(site.answer(request).status == 303);
    CHECK(folder.open().devices().at(0).role == record::Role::helper);
}
