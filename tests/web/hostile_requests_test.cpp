// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <catch2/catch.hpp>
#include <set>

#include "running_site.h"

// Requests that no browser of a friend would send, as bytes over real sockets. Each must be turned away or be
// harmless: nothing is written, nothing is given away, and the next request is answered.
using namespace frayhold;
using namespace frayhold::web;
using namespace frayhold::web::sample;

namespace {

struct Hostile {
    std::string name;
    std::string bytes;
    std::set<int> statuses;  // 0: the connection is dropped, or nothing comes in time
};

const std::set<int> dropped_or_refused{0, 400, 403, 404, 405, 411, 413, 414, 421, 422, 431, 501, 505};

int status_in(const std::string& answer) {
    if (!answer.starts_with("HTTP/1.1 ") || answer.size() < 12) return 0;
    return std::stoi(answer.substr(9, 3));
}

std::string repeated(const std::string& text, int times) {
    std::string all;
    for (int i = 0; i < times; ++i) all += text;
    return all;
}

// The bench with a hold on it, and a browser's cookie and token.
struct Besieged : Running {
    std::string host, cookie, token, hold;

    Besieged() : Running(Running::Net::plain), host(host_of(server->bench_address())) {
        desk::Desk desk = folder.open();
        hold = desk::sample::open_hold(desk);
        desk::sample::add_all_views(desk, hold);
        httplib::Client client(server->bench_address());
        const auto page = client.Get("/hold/new");
        REQUIRE(page);
        const std::string line = page->get_header_value("Set-Cookie");
        cookie = line.substr(0, line.find(';'));
        token = between(page->body, "name=\"token\" value=\"");
        REQUIRE(token.size() == 64);
    }

    [[nodiscard]] std::string get(const std::string& target, const std::string& more = "") const {
        return "GET " + target + " HTTP/1.1\r\nHost: " + host + "\r\nConnection: close\r\n" + more + "\r\n";
    }
    [[nodiscard]] std::string post(const std::string& target, const std::string& body,
                                   const std::string& more,
                                   const std::string& type = "application/x-www-form-urlencoded") const {
        return "POST " + target + " HTTP/1.1\r\nHost: " + host +
               "\r\nConnection: close\r\nContent-Type: " + type +
               "\r\nContent-Length: " + std::to_string(body.size()) + "\r\n" + more + "\r\n" + body;
    }
    // A form that would be done if it were not for what `more` or the body says.
    [[nodiscard]] std::string own_form(const std::string& target, const std::string& body,
                                       const std::string& more = "") const {
        return post(target, "token=" + token + "&" + body, "Cookie: " + cookie + "\r\n" + more);
    }
    [[nodiscard]] std::string with_token() const {
        return "Cookie: " + cookie + "\r\nX-Frayhold-Token: " + token + "\r\n";
    }
    [[nodiscard]] std::string parts(const std::string& content) const {
        return post("/hold/" + hold + "/photo",
                    "--b\r\nContent-Disposition: form-data; name=\"token\"\r\n\r\n" + token + "\r\n" +
                        content + "--b--\r\n",
                    "Cookie: " + cookie + "\r\n", "multipart/form-data; boundary=b");
    }

    [[nodiscard]] std::vector<Hostile> another_name() const {
        std::vector<Hostile> list;
        for (const char* name : {"evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1:1", "0.0.0.0",
                                 "[::1]", "localhost.evil.example", "127.0.0.1:8480@evil.example", ""})
            list.push_back({std::string("host ") + name,
                            std::string("GET / HTTP/1.1\r\nHost: ") + name + "\r\nConnection: close\r\n\r\n",
                            {421}});
        list.push_back({"no host", "GET / HTTP/1.1\r\nConnection: close\r\n\r\n", {421}});
        list.push_back({"HTTP/1.0 without a host", "GET / HTTP/1.0\r\n\r\n", {421}});
        list.push_back({"a proxy's request", get("http://evil.example/"), {400, 404}});
        list.push_back({"a forwarded host",
                        "GET / HTTP/1.1\r\nHost: evil.example\r\nX-Forwarded-Host: " + host +
                            "\r\nConnection: close\r\n\r\n",
                        {421}});
        return list;
    }

    [[nodiscard]] std::vector<Hostile> another_site() const {
        const std::string body = "mark=K-12&seen=x";
        std::vector<Hostile> list;
        for (const char* origin :
             {"http://evil.example", "null", "file://", "http://127.0.0.1:1", "http://localhost"})
            list.push_back({std::string("origin ") + origin,
                            own_form("/hold/new", body, std::string("Origin: ") + origin + "\r\n"),
                            {403}});
        for (const char* from : {"cross-site", "same-site", "none"})
            list.push_back({std::string("fetch site ") + from,
                            own_form("/hold/new", body, std::string("Sec-Fetch-Site: ") + from + "\r\n"),
                            {403}});
        list.push_back({"no token", post("/hold/new", body, "Cookie: " + cookie + "\r\n"), {403}});
        list.push_back(
            {"an empty token", post("/hold/new", "token=&" + body, "Cookie: " + cookie + "\r\n"), {403}});
        list.push_back(
            {"a wrong token",
             post("/hold/new", "token=" + std::string(64, '0') + "&" + body, "Cookie: " + cookie + "\r\n"),
             {403}});
        list.push_back({"no cookie", post("/hold/new", "token=" + token + "&" + body, ""), {403}});
        list.push_back(
            {"the token as cookie",
             post("/hold/new", "token=" + token + "&" + body, "Cookie: frayhold_bench=" + token + "\r\n"),
             {403}});
        list.push_back({"text/plain, as a form of another site can send",
                        post("/hold/new", "token=" + token + "&" + body, "", "text/plain"),
                        {403}});
        return list;
    }

    [[nodiscard]] std::vector<Hostile> other_methods() const {
        std::vector<Hostile> list;
        for (const char* method :
             {"PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "get", "PRI"})
            list.push_back({std::string("method ") + method,
                            std::string(method) + " / HTTP/1.1\r\nHost: " + host +
                                "\r\nConnection: close\r\nContent-Length: 0\r\n\r\n",
                            {0, 400, 405}});
        list.push_back({"a method in a field", get("/hold/new?_method=POST&mark=K-12&seen=x"), {200}});
        list.push_back({"a method in a header",
                        get("/hold/new?mark=K-12&seen=x", "X-HTTP-Method-Override: POST\r\n"),
                        {200}});
        list.push_back({"an upgrade", get("/", "Upgrade: websocket\r\nConnection: Upgrade\r\n"), {200}});
        return list;
    }

    [[nodiscard]] std::vector<Hostile> odd_paths() const {
        std::vector<Hostile> list;
        for (const std::string& path : {std::string("/../../../etc/passwd"),
                                        std::string("/assets/..%2f..%2f..%2fetc%2fpasswd"),
                                        std::string("/assets/%2e%2e/layout.mustache"),
                                        std::string("/assets/..\\..\\etc\\passwd"),
                                        std::string("/assets/%c0%ae%c0%ae/layout.mustache"),
                                        std::string("/assets/frayhold.css%00.html"),
                                        std::string("/%00"),
                                        std::string("/assets/"),
                                        std::string("/.git/config"),
                                        std::string("//evil.example/"),
                                        "/hold/" + hold + "/query/1/attachment/..%2f..",
                                        "/hold/" + hold + "/photo/-1",
                                        "/hold/" + hold + "/photo/99999999999999999999/original",
                                        "/hold/" + hold + "/photo/1/tile/-1/-1/-1",
                                        "/hold/" + hold + "/photo/1/tile/2147483647/2147483647/2147483647",
                                        "/hold/" + hold + "/photo/1/edge?x=1e308&y=nan&within=-1",
                                        "/hold/" + hold + "/photo/1/flat?corners=" + repeated("9e99,", 8),
                                        std::string("/hold/' OR '1'='1"),
                                        std::string("/hold/%27%3B%20DROP%20TABLE%20item%3B--"),
                                        std::string("/item?mark=%27%20OR%201=1--"),
                                        std::string("/round/x/item?mark=x"),
                                        std::string("/kit?name=%27%20OR%201=1--"),
                                        std::string("/item/record?mark=K-12&year=99999"),
                                        std::string("/print/labels?marks=K-12&first=999999999"),
                                        std::string("/print/labels?marks=K-12&sheet=..%2f..%2fetc"),
                                        std::string("/hold/%0d%0aSet-Cookie:%20a=b")})
            list.push_back({"path " + path, get(path), {400, 404, 422}});
        list.push_back(
            {"a very long path", get("/hold/" + std::string(100'000, 'a')), {0, 400, 404, 414, 422}});
        list.push_back({"a line broken in two", get("/?words=a%0d%0aSet-Cookie:%20a=b"), {200}});
        list.push_back({"a word that the templates would read",
                        get("/?words=%7B%7B%7Btoken%7D%7D%7D%7B%7B%3Elayout%7D%7D"),
                        {200}});
        list.push_back({"a script as a word", get("/?words=%3Cscript%3Ealert(1)%3C/script%3E"), {200}});
        list.push_back({"ranges without end",
                        get("/assets/frayhold.css", "Range: bytes=" + repeated("0-0,", 1000) + "0-0\r\n"),
                        {0, 200, 206, 400, 416}});
        return list;
    }

    [[nodiscard]] std::vector<Hostile> broken_http() const {
        const std::string head = "POST /hold/new HTTP/1.1\r\nHost: " + host + "\r\nConnection: close\r\n";
        return {
            {"nothing but line ends", "\r\n\r\n", dropped_or_refused},
            {"HTTP/0.9", "GET /\r\n\r\n", dropped_or_refused},
            {"HTTP/9.9", "GET / HTTP/9.9\r\nHost: " + host + "\r\n\r\n", dropped_or_refused},
            {"a TLS greeting", std::string("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", 11),
             dropped_or_refused},
            {"zeros", std::string(1000, '\0'), dropped_or_refused},
            {"a header without end", get("/", "X: " + std::string(200'000, 'x') + "\r\n"),
             dropped_or_refused},
            {"ten thousand headers", get("/", repeated("X: y\r\n", 10'000)), {0, 200, 400, 431}},
            {"a header folded over lines", get("/", "X: a\r\n b\r\n"), {0, 200, 400}},
            {"a negative length", head + "Content-Length: -1\r\n\r\n", dropped_or_refused},
            {"a length that is none", head + "Content-Length: ten\r\n\r\n", dropped_or_refused},
            {"a length beyond every limit", head + "Content-Length: 99999999999999999999\r\n\r\nx",
             dropped_or_refused},
            {"more than may be sent", head + "Content-Length: 100000001\r\n\r\nx", dropped_or_refused},
            {"two lengths", head + "Content-Length: 3\r\nContent-Length: 30\r\n\r\nabc", dropped_or_refused},
            {"length and chunks",
             head + "Content-Length: 3\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\nGET / HTTP/1.1",
             dropped_or_refused},
            {"a chunk that is no number", head + "Transfer-Encoding: chunked\r\n\r\nzz\r\nabc\r\n0\r\n\r\n",
             dropped_or_refused},
            {"a chunk without end", head + "Transfer-Encoding: chunked\r\n\r\nffffffffffffffff\r\nabc",
             dropped_or_refused},
            {"an unknown coding", head + "Transfer-Encoding: gzip\r\nContent-Length: 3\r\n\r\nabc",
             dropped_or_refused},
        };
    }

    [[nodiscard]] std::vector<Hostile> bad_bodies() const {
        const std::string marks = "/hold/" + hold + "/photo/3/marks", json = "application/json";
        return {
            {"a body of many parts",
             parts(repeated("--b\r\nContent-Disposition: form-data; name=\"x\"\r\n\r\ny\r\n", 5000)),
             {0, 400, 413, 422}},
            {"a part without a name",
             parts("--b\r\nContent-Disposition: form-data\r\n\r\ny\r\n"),
             {0, 400, 422}},
            {"a part without end",
             parts("--b\r\nContent-Disposition: form-data; name=\"photo\"; filename=\"a"),
             {0, 400, 422}},
            {"a file called by a path",
             parts("--b\r\nContent-Disposition: form-data; "
                   "name=\"role\"\r\n\r\nlabel\r\n--b\r\nContent-Disposition: "
                   "form-data; name=\"photo\"; filename=\"../../../../tmp/evil.jpg\"\r\n\r\nnot a photo\r\n"),
             {422}},
            {"a picture that is a page",
             parts("--b\r\nContent-Disposition: form-data; "
                   "name=\"role\"\r\n\r\nlabel\r\n--b\r\nContent-Disposition: "
                   "form-data; name=\"photo\"; filename=\"a.svg\"\r\n\r\n<svg onload=alert(1)>\r\n"),
             {422}},
            {"a boundary that is missing",
             post("/hold/new", "--b\r\n", with_token(), "multipart/form-data"),
             {0, 400, 403, 422}},
            {"brackets without end", post(marks, std::string(200'000, '['), with_token(), json), {422}},
            {"numbers beyond all numbers",
             post(marks, R"({"pins":[{"at":[1e999,-1e999],"words":"x"}]})", with_token(), json),
             {422}},
            {"a drawing with a million points",
             post(marks, R"({"marks":[{"kind":"area","points":[)" + repeated("[1,2],", 300'000) + "[1,2]]}]}",
                  with_token(), json),
             {400, 413, 422}},
            {"a field of five megabytes",
             own_form("/hold/new", "mark=" + std::string(5'000'000, 'a') + "&seen=x"),
             {0, 400, 413, 422}},
            {"bytes that are no text", own_form("/hold/new", "mark=%ff%fe%00&seen=%80"), {422}},
            {"a CSV of quotes",
             post("/items/in",
                  "--b\r\nContent-Disposition: form-data; name=\"csv\"; "
                  "filename=\"a.csv\"\r\n\r\nmark,kind\r\n\"" +
                      std::string(100'000, '"') + "\r\n--b--\r\n",
                  with_token(), "multipart/form-data; boundary=b"),
             {422}},
            {"a reply that is no mail", own_form("/hold/" + hold + "/reply", "pasted=%00%01%02"), {422}},
            {"a letter with a broken address",
             own_form("/hold/" + hold + "/ask",
                      "to=a%0d%0aBcc:evil@evil.example&from=b&reply_days=0&ask=fit"),
             {422}},
            {"a verdict without a name",
             own_form("/hold/" + hold + "/verdict", "kind=return_to_service&by="),
             {409, 422}},
            {"a check of no round", own_form("/round/R-1999-0001/begin", "mark=K-12"), {422}},
            {"a phone of no role", own_form("/phones", "pair=yes&role=owner"), {422}},
        };
    }
};

}  // namespace

TEST_CASE("At least fifty hostile requests are turned away or harmless") {
    const Besieged bench;
    httplib::Client friendly(bench.server->bench_address());
    const std::size_t written = bench.folder.open().journal({}).size();
    std::size_t tried = 0;
    for (const std::vector<Hostile>& kind :
         {bench.another_name(), bench.another_site(), bench.other_methods(), bench.odd_paths(),
          bench.broken_http(), bench.bad_bodies()})
        for (const Hostile& hostile : kind) {
            CAPTURE(hostile.name.substr(0, 120));
            ++tried;
            // Of most the status is enough; where the page itself is looked at, it must have come whole.
            const bool is_template = hostile.bytes.find("%7B%7Btoken") != std::string::npos;
            std::string answer = is_template ? bench.raw_whole(hostile.bytes) : bench.raw(hostile.bytes, 300);
            // What takes longer is waited for, but where the request itself never ends.
            int status = status_in(answer);
            if (status == 0 && !hostile.statuses.contains(0)) {
                answer = bench.raw(hostile.bytes, 10'000);
                status = status_in(answer);
            }
            CHECK(hostile.statuses.contains(status));
            if (status == 100) FAIL_CHECK("the body was asked for");
            for (const char* secret :
                 {"root:", "BEGIN", "{{title", "Set-Cookie: a=b", "<script>alert", "sqlite"})
                CHECK(answer.find(secret) == std::string::npos);
            // A word that looks like a template is shown as it is, and what it asks for is not.
            if (is_template) {
                CHECK(answer.find("{{{token}}}") != std::string::npos);
                CHECK(answer.find(bench.token) == std::string::npos);
            }
            const auto next = friendly.Get("/assets/mark.svg");
            REQUIRE(next);
            CHECK(next->status == 200);
        }
    CHECK(tried >= 50);
    INFO(tried << " requests");
    CHECK(bench.folder.open().journal({}).size() == written);
    CHECK_FALSE(std::filesystem::exists("/tmp/evil.jpg"));
    desk::sample::check_sound(bench.folder.open());
}

TEST_CASE("A stranger at the phones' door gets one sentence, whatever is asked") {
    const Besieged bench;
    const std::string host = Running::host_of(bench.server->net_address());
    const int port = Running::port_of(bench.server->net_address());
    const auto asked = [&](const std::string& line, const std::string& more) {
        const Running::Wire wire(port);
        wire.say(line + " HTTP/1.1\r\nHost: " + host + "\r\nConnection: close\r\n" + more + "\r\n");
        return wire.heard();
    };
    for (const std::string& line :
         {std::string("GET /"), "GET /hold/" + bench.hold, std::string("GET /assets/frayhold.css"),
          std::string("GET /phones"), std::string("GET /items/out"), std::string("POST /hold/new"),
          "POST /hold/" + bench.hold + "/verdict", std::string("POST /phones")})
        for (const std::string& more :
             {std::string(), "Cookie: " + bench.cookie + "\r\nX-Frayhold-Token: " + bench.token + "\r\n",
              "Cookie: frayhold_device=" + bench.token + "\r\n",
              std::string("Cookie: frayhold_device=' OR '1'='1\r\n"),
              std::string("X-Forwarded-For: 127.0.0.1\r\n")}) {
            CAPTURE(line, more);
            const std::string answer = asked(line, more + "Content-Length: 0\r\n");
            CHECK(status_in(answer) == 403);
            CHECK(answer.find('<') == std::string::npos);
        }
    // A large body is not even waited for.
    CHECK(status_in(asked("POST /pair?code=AAAAAAAAAA", "Content-Length: 90000000\r\n")) == 413);
    CHECK(status_in(asked("POST /pair?code=AAAAAAAAAA", "Transfer-Encoding: chunked\r\n")) == 411);
    // Guessing ends soon.
    int waits = 0;
    for (int i = 0; i < 2 * Pairing::most_tries; ++i)
        if (status_in(asked("GET /pair?code=AAAAAAAAA" + std::to_string(i % 10), "")) == 429) ++waits;
    CHECK(waits >= Pairing::most_tries);
    CHECK(bench.folder.open().devices().empty());
}

TEST_CASE("Clients that dawdle at the phones' door do not hold up the bench") {
    const Besieged bench;
    const std::string host = Running::host_of(bench.server->net_address());
    std::vector<std::unique_ptr<Running::Wire>> dawdlers;
    for (int i = 0; i < 40; ++i) {
        dawdlers.push_back(std::make_unique<Running::Wire>(Running::port_of(bench.server->net_address())));
        dawdlers.back()->say("GET / HTTP/1.1\r\nHost: " + host + "\r\nX: ");
    }
    // And one at the bench itself.
    const Running::Wire beside(bench.port());
    beside.say("POST /hold/new HTTP/1.1\r\nHost: " + bench.host + "\r\nContent-Length: 1000\r\n\r\nmark=");
    httplib::Client friendly(bench.server->bench_address());
    const auto start = std::chrono::steady_clock::now();
    const auto page = friendly.Get("/");
    REQUIRE(page);
    CHECK(page->status == 200);
    CHECK(std::chrono::steady_clock::now() - start < std::chrono::seconds(5));
}
