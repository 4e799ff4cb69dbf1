// SPDX-License-Identifier: Apache-2.0
#include "store/store.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <system_error>
#include <vector>

#include "store/schema.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;

constexpr const char* database_name = "frayhold.db";
constexpr const char* originals_name = "originals";

[[noreturn]] void cannot_make(const fs::path& folder, const std::error_code& error) {
    throw Failure(Fault::outside, folder.string(), "the store cannot be made here: " + error.message(),
                  "name a folder that can be written");
}

// What a store whose making was cut short may have left.
bool is_part_of_store(const fs::path& entry) {
    const std::string name = entry.filename().string();
    return name == originals_name || name.rfind(database_name, 0) == 0;
}

bool holds_something_else(const fs::path& folder) {
    std::error_code error;
    for (fs::directory_iterator at(folder, error), end; !error && at != end; at.increment(error))
        if (!is_part_of_store(at->path())) return true;
    return false;
}

// The folders that must be made for this one to exist, outermost first.
std::vector<fs::path> missing_folders(fs::path folder) {
    std::vector<fs::path> missing;
    std::error_code error;
    for (folder = fs::absolute(folder).lexically_normal(); !folder.empty() && !fs::exists(folder, error);
         folder = folder.parent_path())
        missing.push_back(folder);
    std::reverse(missing.begin(), missing.end());
    return missing;
}

// Folders made for a new store; taken away again where the making fails and they are still empty.
class NewFolders {
  public:
    explicit NewFolders(const fs::path& folder) : made_(missing_folders(folder)) {
        std::error_code error;
        fs::create_directories(folder, error);
        if (error) {
            take_away();
            cannot_make(folder, error);
        }
    }
    ~NewFolders() {
        if (!kept_) take_away();
    }
    NewFolders(const NewFolders&) = delete;
    NewFolders& operator=(const NewFolders&) = delete;

    // A new folder lasts only once the one above it is on the disk.
    void keep() {
        kept_ = true;
        for (const fs::path& folder : made_) flush(folder.parent_path());
    }

  private:
    static void flush(const fs::path& folder) {
        const int open = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
        const bool flushed = open >= 0 && ::fsync(open) == 0;
        const std::error_code error(errno, std::generic_category());
        if (open >= 0) ::close(open);
        if (!flushed) cannot_make(folder, error);
    }

    void take_away() const {
        std::error_code ignored;
        for (auto folder = made_.rbegin(); folder != made_.rend(); ++folder) fs::remove(*folder, ignored);
    }

    std::vector<fs::path> made_;
    bool kept_ = false;
};

Database open_database(const fs::path& folder, Time now, const Store::Options& options) {
    const fs::path file = folder / database_name;
    std::error_code error;
    const bool exists = fs::exists(file, error);
    if (!exists && !options.may_create)
        throw Failure(Fault::input, folder.string(), "there is no store in this folder", "check its name");
    if (!exists && fs::is_directory(folder, error) && holds_something_else(folder))
        throw Failure(Fault::input, folder.string(), "the folder is no store and holds other files",
                      "name a store or an empty folder");
    NewFolders made(folder);
    Database database(file, Database::Options{options.busy_wait});
    migrate(database, now);
    made.keep();
    return database;
}

}  // namespace

Store::Store(const fs::path& folder, Time now, const Options& options)
    : folder_(folder),
      database_(open_database(folder, now, options)),
      blobs_(folder / originals_name, options.files) {}

}  // namespace frayhold::store
