// SPDX-License-Identifier: Apache-2.0
// Source of the samples: Debian's libpython3-testsuite, Lib/test/test_email/data of CPython.
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <set>
#include <sstream>

#include "post/reply_mail.h"
#include "post/safe_file_name.h"
#include "python_reading.h"

namespace frayhold::post {
namespace {

std::vector<std::filesystem::path> sample_mails() {
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator("/usr/lib")) {
        const auto folder = entry.path() / "test/test_email/data";
        if (!entry.path().filename().string().starts_with("python3") ||
            !std::filesystem::is_directory(folder))
            continue;
        for (const auto& file : std::filesystem::directory_iterator(folder))
            if (file.path().extension() == ".txt") files.push_back(file.path());
    }
    std::sort(files.begin(), files.end());
    return files;
}

// One blank for any run of blanks and line ends.
std::string squeezed(const std::string& text) {
    std::istringstream words(text);
    std::string out;
    for (std::string word; words >> word;) out += (out.empty() ? "" : " ") + word;
    return out;
}

// Python gives a multipart whose boundary never comes as one leaf; its text is body text to us.
bool is_body(const nlohmann::json& part) {
    if (part["type"].get<std::string>().starts_with("multipart/")) return true;
    return (part["type"] == "text/plain" || part["type"] == "text/html") && part["name"].is_null() &&
           part["disposition"] != "attachment";
}

// What Python finds but ours must read otherwise, and why.
const std::string no_head =
    "msg_19.txt";  // text without any head: Python calls it a body, we say that it is no mail
// A multipart within a multipart under the same boundary (against RFC 2046, 5.1.2): Python drops the parts
// behind the inner end, GMime keeps them.
const std::set<std::string> more_parts{"msg_15.txt", "msg_39.txt"};

}  // namespace

TEST_CASE("CPython's sample mails are read with the subject, parts and names that Python finds") {
    const auto files = sample_mails();
    INFO("needs Debian's libpython3.11-testsuite");
    REQUIRE(files.size() >= 40);
    const auto python = test::read_by_python(files);
    for (std::size_t i = 0; i < files.size(); ++i) {
        const std::string name = files[i].filename().string();
        INFO(name);
        if (name == no_head) {
            CHECK_THROWS_WITH(parse_reply(test::read_file(files[i]), name),
                              Catch::Contains("it is not a mail"));
            continue;
        }
        const ReplyMail mail = parse_reply(test::read_file(files[i]), name);
        CHECK(squeezed(mail.subject) ==
              squeezed(python[i]["subject"].is_null() ? "" : python[i]["subject"].get<std::string>()));
        CHECK(mail.from.address == python[i]["from_address"]);
        std::vector<std::string> types;
        std::vector<std::string> names;
        for (const auto& part : python[i]["parts"])
            if (!is_body(part)) {
                types.push_back(part["type"]);
                names.push_back(part["name"].is_null() ? ""
                                                       : safe_file_name(part["name"].get<std::string>(), ""));
            }
        std::vector<std::string> ours;
        for (const auto& attachment : mail.attachments) ours.push_back(attachment.media_type);
        if (more_parts.contains(name)) {
            CHECK(ours.size() > types.size());
            CHECK(std::includes(ours.begin(), ours.end(), types.begin(), types.end()));
            continue;
        }
        REQUIRE(ours == types);
        std::set<std::string> seen;
        for (std::size_t n = 0; n < names.size(); ++n) {
            // A name used twice in one mail gets a number in ours.
            if (names[n].empty() || !seen.insert(names[n]).second) continue;
            CHECK(mail.attachments[n].file_name == names[n]);
        }
    }
}

}  // namespace frayhold::post
