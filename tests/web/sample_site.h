// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "desk/sample_desk.h"
#include "web/site.h"

// The bench of the Korrel Tree Crew, answering without a socket.
namespace frayhold::web::sample {

inline constexpr const char* host = "127.0.0.1:8480";
inline constexpr const char* net_host = "192.0.2.7:8481";  // an address for examples, RFC 5737

// A letter that the sample reader reads back.
inline desk::ComposedQuery compose(const record::CaseFile& file, const desk::QueryOrder& order,
                                   const desk::KeptBytes&, const std::string& who, Time) {
    const std::string id =
        file.hold.number + "." + std::to_string(file.queries.size() + 1) + "@korrel.example";
    return {desk::sample::bytes_of(id + "||a case|To " + order.to + " by " + who), id, "a case"};
}

inline SiteSetup setup_of(const desk::sample::DeskFolder& folder, bool with_net = false) {
    SiteSetup setup;
    setup.desk_for = [&folder](const std::string& who) {
        desk::Setup desk = folder.setup(who);
        desk.compose = compose;
        return desk;
    };
    setup.who = record::sample::keeper;
    setup.pages = {std::string(FRAYHOLD_SOURCE_DIR) + "/templates/pages"};
    setup.bench_names = {"http", {host, "localhost:8480"}};
    if (with_net) {
        setup.net_names = {"https", {net_host}};
        setup.net = NetDoor{std::string("https://") + net_host, "AA:BB"};
    }
    return setup;
}

inline Request get(const std::string& path, std::multimap<std::string, std::string> fields = {}) {
    Request request;
    request.method = "GET";
    request.path = path;
    request.fields = std::move(fields);
    request.headers["host"] = host;
    return request;
}

// The text behind `before` up to the next double quote.
inline std::string between(const std::string& text, const std::string& before) {
    const std::size_t from = text.find(before);
    if (from == std::string::npos) return "";
    const std::size_t start = from + before.size();
    return text.substr(start, text.find('"', start) - start);
}

inline std::string header(const Answer& answer, const std::string& name) {
    const auto found = answer.headers.find(name);
    return found == answer.headers.end() ? "" : found->second;
}

// A browser at the bench: keeps the cookie and the token of the first page.
class Browser {
  public:
    explicit Browser(Site& site) : site_(site) {
        const Answer first = site.answer(get("/hold/new"));
        token_ = between(first.body, "name=\"token\" value=\"");
        const std::string cookie = header(first, "Set-Cookie");
        cookie_ = cookie.substr(0, cookie.find(';'));
    }

    [[nodiscard]] Request posting(const std::string& path,
                                  std::multimap<std::string, std::string> fields) const {
        Request request = get(path, std::move(fields));
        request.method = "POST";
        request.headers["cookie"] = cookie_;
        request.headers["origin"] = std::string("http://") + host;
        request.fields.emplace("token", token_);
        return request;
    }

    Answer post(const std::string& path, std::multimap<std::string, std::string> fields) const {
        return site_.answer(posting(path, std::move(fields)));
    }

    Answer upload(const std::string& path, std::multimap<std::string, std::string> fields,
                  const std::string& name, const std::vector<std::byte>& bytes) const {
        Request request = posting(path, std::move(fields));
        request.files.emplace(name, UploadedFile{"IMG.jpg", desk::sample::text_of(bytes)});
        return site_.answer(request);
    }

    Answer post_json(const std::string& path, const std::string& body) const {
        Request request = posting(path, {});
        request.fields.clear();
        request.headers["x-frayhold-token"] = token_;
        request.body = body;
        return site_.answer(request);
    }

    [[nodiscard]] std::string page(const std::string& path,
                                   std::multimap<std::string, std::string> fields = {}) const {
        return site_.answer(get(path, std::move(fields))).body;
    }

    [[nodiscard]] const std::string& token() const { return token_; }

  private:
    Site& site_;
    std::string token_;
    std::string cookie_;
};

inline bool holds(const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
}

}  // namespace frayhold::web::sample
