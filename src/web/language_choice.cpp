// SPDX-License-Identifier: Apache-2.0
#include "web/language_choice.h"

#include <fmt/format.h>

#include <array>

#include "language/speaking.h"
#include "language/tr.h"
#include "language/wishes.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

struct OwnName {
    std::string_view code;
    const char* name;
};

constexpr std::array own_names{
    OwnName{"cs", "Čeština"},    OwnName{"da", "Dansk"},       OwnName{"de", "Deutsch"},
    OwnName{"el", "Ελληνικά"},   OwnName{"en", "English"},     OwnName{"es", "Español"},
    OwnName{"et", "Eesti"},      OwnName{"fi", "Suomi"},       OwnName{"fr", "Français"},
    OwnName{"hr", "Hrvatski"},   OwnName{"hu", "Magyar"},      OwnName{"is", "Íslenska"},
    OwnName{"it", "Italiano"},   OwnName{"ja", "日本語"},      OwnName{"lt", "Lietuvių"},
    OwnName{"lv", "Latviešu"},   OwnName{"nb", "Norsk"},       OwnName{"nl", "Nederlands"},
    OwnName{"pl", "Polski"},     OwnName{"pt", "Português"},   OwnName{"ro", "Română"},
    OwnName{"sk", "Slovenčina"}, OwnName{"sl", "Slovenščina"}, OwnName{"sv", "Svenska"},
    OwnName{"tr", "Türkçe"},     OwnName{"uk", "Українська"},
};

// What was asked for, as own_path takes it.
std::string address_of(const Request& request) {
    std::string address;
    for (const std::string& word : request.words()) address += "/" + percent_encoded(word);
    if (address.empty()) address = "/";
    char sign = '?';
    for (const auto& [name, value] : request.fields) {
        address += fmt::format("{}{}={}", sign, percent_encoded(name), percent_encoded(value));
        sign = '&';
    }
    return address;
}

}  // namespace

const language::Catalogue* language_for(const Request& request, language::Languages* languages) {
    if (languages == nullptr) return nullptr;
    try {
        const std::string chosen = request.cookie(language_cookie);
        if (languages->has(chosen)) return languages->of(chosen);
        return languages->first_of(language::wishes_of_browser(request.header("accept-language")));
    } catch (const Failure&) {
        return nullptr;
    }
}

std::string own_name(const std::string& code) {
    for (const OwnName& each : own_names)
        if (each.code == code) return each.name;
    return code;
}

void add_language_choice(json& data, const Visit& visit) {
    if (!visit.house.languages || visit.is_post()) return;
    const std::vector<std::string> names = visit.house.languages->names();
    if (names.size() < 2) return;
    json list = json::array();
    for (const std::string& code : names)
        list.push_back(
            {{"code", code}, {"own_name", own_name(code)}, {"spoken", code == language::spoken_name()}});
    data["language_choice"] = {{"list", list}, {"back_to", address_of(visit.request)}};
}

std::string own_path(const std::string& given) {
    constexpr std::string_view allowed =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/?&=%";
    constexpr std::size_t longest = 2000;
    const bool is_own = given.starts_with('/') && given.size() <= longest &&
                        given.find_first_not_of(allowed) == std::string::npos &&
                        given.find("//") == std::string::npos;
    return is_own ? given : "/";
}

Answer choose_language(const Visit& visit) {
    const std::string code = visit.request.field("language");
    if (!visit.house.languages || !visit.house.languages->has(code))
        throw Failure(Fault::input, tr("language"), "it cannot be had here",
                      "choose one of those at the foot of a page");
    Answer answer = Answer::go_to(own_path(visit.request.field("back_to")));
    constexpr int a_year_s = 365 * 24 * 60 * 60;
    const bool secure = visit.by_phone() && visit.house.net && visit.house.net->address.starts_with("https:");
    answer.headers.emplace(
        "Set-Cookie", fmt::format("{}={}; Path=/; Max-Age={}; HttpOnly; SameSite=Strict{}", language_cookie,
                                  code, a_year_s, secure ? "; Secure" : ""));
    return answer;
}

}  // namespace frayhold::web
