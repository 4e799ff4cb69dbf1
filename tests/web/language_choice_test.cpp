// SPDX-License-Identifier: Apache-2.0
#include "web/language_choice.h"

#include <atomic>
#include <catch2/catch.hpp>
#include <fstream>
#include <thread>

#include "language/speaking.h"
#include "sample_site.h"

using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;

namespace {

std::shared_ptr<language::Languages> test_languages() {
    return std::make_shared<language::Languages>(std::vector<std::filesystem::path>{TEST_CATALOGUES});
}

struct Bench {
    desk::sample::DeskFolder folder;
    Site site{[this] {
        SiteSetup setup = setup_of(folder, true);
        setup.languages = test_languages();
        return setup;
    }()};
    Browser browser{site};

    // The page as it comes to a browser with this cookie and these wishes.
    [[nodiscard]] Answer asked(const std::string& path, const std::string& cookie,
                               const std::string& wishes = "") {
        Request request = get(path);
        if (!cookie.empty()) request.headers["cookie"] = cookie;
        if (!wishes.empty()) request.headers["accept-language"] = wishes;
        return site.answer(request);
    }
    [[nodiscard]] std::string language_of(const std::string& cookie, const std::string& wishes) {
        return between(asked("/", cookie, wishes).body, "<html lang=\"");
    }
};

// What stands between the script element that holds the scripts' words and its end.
std::string words_block(const std::string& page) {
    const std::string begin = "<script type=\"application/json\" id=\"script-words\">";
    const std::size_t from = page.find(begin);
    if (from == std::string::npos) return "";
    return page.substr(from + begin.size(), page.find("</script>", from) - from - begin.size());
}

}  // namespace

TEST_CASE_METHOD(Bench, "The language is the one chosen, else the first the browser asks for, else English") {
    CHECK(language_of("", "") == "en");
    CHECK(language_of("", "de-AT,de;q=0.9,en;q=0.8") == "de");
    CHECK(language_of("", "fr,de;q=0.5") == "de");
    CHECK(language_of("", "en,de;q=0.5") == "en");
    CHECK(language_of("language=de", "en") == "de");
    CHECK(language_of("a=b; language=en", "de") == "en");
    // One that cannot be had is none.
    CHECK(language_of("language=fr", "de") == "de");
    CHECK(language_of("language=fr", "fr") == "en");
}

TEST_CASE_METHOD(Bench, "A hostile wish for a language gets the page in one that there is") {
    for (const std::string& value :
         {std::string("../de"), std::string("de/../../etc/passwd"), std::string("\"><script>"),
          std::string("de\0", 3), std::string(7000, 'd'), std::string("\xff\xfe"), std::string("de.UTF-8"),
          std::string("DE")}) {
        CAPTURE(value);
        const Answer answer = asked("/", "language=" + value, value + ";q=x,;;,q=1");
        CHECK(answer.status == 200);
        CHECK_FALSE(holds(answer.body, "\"><script>"));
        const std::string language = between(answer.body, "<html lang=\"");
        CHECK((language == "en" || language == "de"));
    }
    CHECK(language_of("", "de;q=nan,de;q=-1,de;q=0") == "en");
}

TEST_CASE_METHOD(Bench, "A page, its errors and its refusals are in the language chosen") {
    const Answer page = asked("/", "language=de");
    CHECK(holds(page.body, "<h1>Sperren</h1>"));
    CHECK(holds(page.body, "Hier wartet nichts."));
    CHECK(holds(page.body, "eine sachkundige Person gehen vor."));
    CHECK(holds(page.body, "<title>Sperren · Frayhold</title>"));
    CHECK(header(page, "Cache-Control") == "no-store");
    CHECK(asked("/nowhere", "language=de").body == "Diese Seite gibt es nicht.\n");
    CHECK(holds(asked("/", "").body, "Nothing is waiting here."));
    Request wrong = browser.posting("/language", {{"language", "xx"}});
    wrong.headers["cookie"] += "; language=de";
    CHECK(holds(site.answer(wrong).body, "es gibt sie hier nicht"));

    Request stranger = get("/");
    stranger.door = Door::net;
    stranger.headers["host"] = net_host;
    stranger.headers["accept-language"] = "de";
    CHECK(holds(site.refusal_by_head(stranger)->body, "An der Werkbank einen Code holen."));
    CHECK(holds(site.answer(stranger).body, "An der Werkbank einen Code holen."));
    // Nothing of it stays with the thread.
    CHECK(language::spoken() == nullptr);
}

TEST_CASE_METHOD(Bench, "The form that pairs a phone is in the phone's language") {
    Request request = get("/pair");
    request.fields.emplace("code", site.pairing().new_code({"/", record::Role::helper}));
    request.door = Door::net;
    request.headers["host"] = net_host;
    request.headers["accept-language"] = "de";
    const std::string page = site.answer(request).body;
    CHECK(holds(page, "<html lang=\"de\">"));
    CHECK(holds(page, "<button>Koppeln</button>"));
}

TEST_CASE_METHOD(Bench, "The scripts' words come with the page and cannot end their element") {
    const std::string block = words_block(asked("/", "language=de").body);
    CHECK_FALSE(holds(block, "<"));
    const auto words = nlohmann::json::parse(block);
    CHECK(words.at("Kept with the photo.") == "Beim Foto </script><script>alert(1)</script><!-- behalten.");
    CHECK(words.at("{} min under the hands") == "seit {} min unter den Händen");
    // Only what a script says, and only what is translated.
    CHECK(words.size() == 2);
    CHECK(words_block(asked("/", "language=en").body).empty());
    CHECK(holds(header(asked("/", "language=de"), "Content-Security-Policy"), "script-src 'self';"));
}

TEST_CASE_METHOD(Bench, "The languages are offered each in its own words, with the way back") {
    const std::string page = asked("/items", "language=de").body;
    CHECK(holds(page, "value=\"de\" lang=\"de\" aria-current=\"true\">Deutsch</button>"));
    CHECK(holds(page, "value=\"en\" lang=\"en\">English</button>"));
    CHECK(between(page, "name=\"back_to\" value=\"") == "/items");
    Request search = get("/items", {{"words", "kt & <b>"}});
    const std::string found = site.answer(search).body;
    CHECK(holds(found, "words=kt%20%26%20%3Cb%3E"));
    // Not where it would lose what was typed.
    CHECK_FALSE(holds(browser.post("/hold/new", {{"mark", "none"}}).body, "action=\"/language\""));
    CHECK(own_name("fr") == "Français");
    CHECK(own_name("xx") == "xx");
}

TEST_CASE("Where there is English only, nothing is offered and nothing can be chosen") {
    const desk::sample::DeskFolder folder;
    Site site(setup_of(folder));
    const Browser browser(site);
    CHECK_FALSE(holds(browser.page("/"), "/language"));
    Request request = get("/");
    request.headers["accept-language"] = "de";
    CHECK(holds(site.answer(request).body, "<html lang=\"en\">"));
    CHECK(browser.post("/language", {{"language", "de"}}).status == 422);
}

TEST_CASE_METHOD(Bench, "A choice is kept in a cookie and leads back to the page it came from") {
    const Answer answer = browser.post("/language", {{"language", "de"}, {"back_to", "/items?words=kt%20a"}});
    CHECK(answer.status == 303);
    CHECK(header(answer, "Location") == "/items?words=kt%20a");
    const std::string line = header(answer, "Set-Cookie");
    CHECK(line == "language=de; Path=/; Max-Age=31536000; HttpOnly; SameSite=Strict");
    CHECK(language_of(line.substr(0, line.find(';')), "en") == "de");

    const Answer unknown = browser.post("/language", {{"language", "../de"}, {"back_to", "/"}});
    CHECK(unknown.status == 422);
    CHECK(header(unknown, "Set-Cookie").empty());
    Request without = browser.posting("/language", {{"language", "de"}});
    without.fields.erase("token");
    CHECK(site.answer(without).status == 403);
}

TEST_CASE_METHOD(Bench, "A choice leads nowhere but to this site") {
    for (const char* away : {"", "//elsewhere.example/", "https://elsewhere.example/", "/\\elsewhere.example",
                             "\\\\elsewhere", "javascript:alert(1)", "/x\r\nSet-Cookie: a=b", "items",
                             "/.//elsewhere.example", "/%0d%0a//x", "/x#y", "/ä"}) {
        CAPTURE(away);
        const Answer answer = browser.post("/language", {{"language", "de"}, {"back_to", away}});
        CHECK(answer.status == 303);
        CHECK(header(answer, "Location") == "/");
    }
    CHECK(own_path("/hold/H-2026-0001/photo?told=1&x=%2F") == "/hold/H-2026-0001/photo?told=1&x=%2F");
    CHECK(own_path("/" + std::string(5000, 'a')) == "/");
}

TEST_CASE_METHOD(Bench, "A paired phone chooses its own") {
    const std::string secret(64, 'a');
    (void)folder.open().pair_device("yard phone", "Ida Fenwright", record::Role::helper, secret);
    Request request = get("/");
    request.door = Door::net;
    request.headers["host"] = net_host;
    request.headers["cookie"] = "frayhold_device=" + secret;
    const std::string token = between(site.answer(request).body, "name=\"token\" value=\"");
    request.method = "POST";
    request.path = "/language";
    request.headers["origin"] = std::string("https://") + net_host;
    request.fields = {{"language", "de"}, {"back_to", "/"}, {"token", token}};
    const Answer answer = site.answer(request);
    CHECK(answer.status == 303);
    CHECK(holds(header(answer, "Set-Cookie"), "language=de; "));
    CHECK(holds(header(answer, "Set-Cookie"), "; Secure"));
}

TEST_CASE_METHOD(Bench, "A damaged catalogue keeps nobody from the holds") {
    const testing::TempFolder damaged;
    std::filesystem::create_directories(damaged.path() / "de/LC_MESSAGES");
    std::ofstream(damaged.path() / "de/LC_MESSAGES/frayhold.mo") << "no catalogue";
    language::Languages languages({damaged.path()});
    Request request = get("/");
    request.headers["cookie"] = "language=de";
    CHECK(language_for(request, &languages) == nullptr);
}

TEST_CASE_METHOD(Bench, "Several browsers are answered at once, each in its language") {
    std::atomic<int> wrong = 0;
    const auto ask = [&](const std::string& language, const std::string& heading) {
        for (int i = 0; i < 20; ++i)
            if (!holds(asked("/", "language=" + language).body, heading)) ++wrong;
    };
    {
        const std::jthread german(ask, "de", "<h1>Sperren</h1>"), english(ask, "en", "<h1>Holds</h1>"),
            more(ask, "de", "<h1>Sperren</h1>");
    }
    CHECK(wrong == 0);
}
