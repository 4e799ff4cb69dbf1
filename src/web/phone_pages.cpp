// SPDX-License-Identifier: Apache-2.0
#include "web/phone_pages.h"

#include <fmt/format.h>

#include "language/error_words.h"
#include "language/tr.h"
#include "record/text.h"
#include "web/gate.h"
#include "web/qr.h"

namespace frayhold::web {
namespace {

using nlohmann::json;

json roles_data(const std::string& chosen) {
    json roles = json::array();
    for (const record::Role role : record::all_roles())
        roles.push_back({{"name", record::name_of(role)},
                         {"words", record::words_for(role)},
                         {"for", what_for(role)},
                         {"chosen", record::name_of(role) == chosen}});
    return roles;
}

json phones_data(const Visit& visit) {
    const std::optional<NetDoor>& net = visit.house.net;
    json list = json::array();
    for (const record::Device& device : visit.desk.devices()) {
        json line{{"number", device.number},         {"name", device.name},
                  {"holder", device.holder},         {"role", record::words_for(device.role)},
                  {"day", day_words(device.paired)}, {"by", device.paired_by}};
        if (device.revoked)
            line["revoked"] = {{"day", day_words(*device.revoked)}, {"by", device.revoked_by}};
        list.push_back(std::move(line));
    }
    json data{{"title", tr("Phones")}, {"phones", list}, {"none", list.empty()}, {"net", net.has_value()}};
    data["hold"] = visit.request.field("hold");
    const std::string role = visit.request.field("role");
    data["roles"] = roles_data(role.empty() ? "helper" : role);
    if (net) {
        data["address"] = net->address;
        data["fingerprint"] = net->fingerprint;
        data["plain"] = net->fingerprint.empty();
    }
    return data;
}

Answer not_paired() {
    return Answer::plain(403, tr("This phone is not paired. Ask for a code at the bench."));
}

}  // namespace

std::string pairing_address(Pairing& pairing, const NetDoor& net, const Pairing::Grant& grant) {
    return fmt::format("{}/pair?code={}", net.address, pairing.new_code(grant));
}

Answer phones_page(const Visit& visit) {
    const Request& request = visit.request;
    const std::optional<NetDoor>& net = visit.house.net;
    if (!visit.is_post()) return visit.page("phones", phones_data(visit));
    try {
        if (!request.field("revoke").empty()) {
            (void)visit.desk.revoke_device(whole_number(request.field("revoke"), tr("phone")));
            return Answer::go_to("/phones");
        }
        if (!net)
            throw Failure(Fault::refused, tr("phones"), "the bench is not open to the local network",
                          "start it with 'frayhold serve --bench-net'");
        const std::optional<record::Role> role = record::role_named(request.field("role"));
        if (!role)
            throw Failure(Fault::input, tr("role"), "none is chosen",
                          "say what the phone's holder is there for");
        const std::string hold = request.field("hold");
        const std::string path =
            hold.empty() ? "/" : hold_path(visit.desk.case_file(hold).hold.number) + "/photo";
        const std::string address = pairing_address(visit.house.pairing, *net, {path, *role});
        json data = phones_data(visit);
        data["code_role"] = record::words_for(*role);
        data["code"] = address.substr(address.rfind('=') + 1);
        data["pair_address"] = address;
        data["qr"] = qr_svg(address);
        return visit.page("phones", std::move(data));
    } catch (const Failure& failure) {
        return visit.page_again("phones", phones_data(visit), failure.error());
    }
}

Answer pair_page(const Request& request, desk::Desk& desk, const Pages& pages, Pairing& pairing,
                 bool secure) {
    const std::string code = request.field("code");
    if (code.empty() || !pairing.is_good(code)) return not_paired();
    json data{{"code", code}, {"name", request.field("name")}, {"holder", request.field("holder")}};
    if (request.method == "GET") return Answer::page(pages.bare("pair", data));
    try {
        if (record::is_blank(request.field("name")) || record::is_blank(request.field("holder")))
            throw Failure(Fault::input, tr("names"), "one is missing", "name the phone and say who you are");
        // Used up first: of two phones with one code only one is paired.
        const std::optional<Pairing::Grant> grant = pairing.use(code);
        if (!grant) return not_paired();
        const std::string secret = new_secret();
        (void)desk.pair_device(request.field("name"), request.field("holder"), grant->role, secret);
        Answer answer = Answer::go_to(grant->path);
        constexpr int a_year_s = 365 * 24 * 60 * 60;
        answer.headers.emplace("Set-Cookie",
                               fmt::format("{}={}; Path=/; Max-Age={}; HttpOnly; SameSite=Strict{}",
                                           Gate::device_cookie, secret, a_year_s, secure ? "; Secure" : ""));
        return answer;
    } catch (const Failure& failure) {
        data["error"] = error_words(failure.error());
        return Answer::page(pages.bare("pair", data), status_of(failure.error().fault));
    }
}

}  // namespace frayhold::web
