// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <map>
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <span>
#include <string>
#include <utility>
#include <vector>

// The pages as data: one mustache template a page, and the files a page loads. A page is rendered in the
// language in force (language/speaking.h). Safe for several threads.
namespace frayhold::web {

class Pages {
  public:
    // Reads all of the first of the folders that exists: "*.mustache", and "assets/*" beside them. A file
    // that is added later is not seen, so no path of a request ever reaches the disk. Throws Failure
    // (Fault::outside) where no folder is there or a file cannot be read.
    explicit Pages(std::span<const std::filesystem::path> folders);

    struct Asset {
        std::string type;
        std::string content;
    };

    // The page of that name within the layout. Every value is escaped for HTML unless the template says
    // otherwise. `data` must be an object; the layout takes its "title" from it. "lang" is added, and for the
    // layout "script_words": what the scripts say, where the language is not English.
    [[nodiscard]] std::string page(const std::string& name, const nlohmann::json& data) const;
    // The same without the layout.
    [[nodiscard]] std::string bare(const std::string& name, const nlohmann::json& data) const;

    // By file name; none where it is not there.
    [[nodiscard]] const Asset* asset(const std::string& name) const;

  private:
    // The template in the language in force, translated when it is first asked for in it.
    [[nodiscard]] const std::string& form_of(const std::string& name) const;
    // The texts of the scripts in the language in force, as JSON that cannot end its <script> element. Empty
    // for English.
    [[nodiscard]] std::string words_of_scripts() const;

    std::map<std::string, std::string> templates_;
    std::map<std::string, Asset> assets_;
    std::vector<std::string> script_texts_;
    mutable std::mutex mutex_;
    // By language and page. What is in it stays where it is, so that it can be read without the lock.
    mutable std::map<std::pair<std::string, std::string>, std::string> translated_;
};

}  // namespace frayhold::web
