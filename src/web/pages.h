// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <map>
#include <nlohmann/json_fwd.hpp>
#include <span>
#include <string>

// The pages as data: one mustache template a page, and the files a page loads.
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
    // otherwise. `data` must be an object; the layout takes its "title" from it.
    [[nodiscard]] std::string page(const std::string& name, const nlohmann::json& data) const;
    // The same without the layout.
    [[nodiscard]] std::string bare(const std::string& name, const nlohmann::json& data) const;

    // By file name; none where it is not there.
    [[nodiscard]] const Asset* asset(const std::string& name) const;

  private:
    std::map<std::string, std::string> templates_;
    std::map<std::string, Asset> assets_;
};

}  // namespace frayhold::web
