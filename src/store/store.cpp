// SPDX-License-Identifier: Apache-2.0
#include "store/store.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <system_error>
#include <vector>

#include "language/tr.h"
#include "store/blobs.h"
#include "store/bucket.h"
#include "store/dialect.h"
#include "store/known_blobs.h"
#include "store/schema.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;

constexpr const char* database_name = "frayhold.db";
constexpr const char* originals_name = "originals";

[[noreturn]] void cannot_make(const fs::path& folder, const std::error_code& error) {
    throw Failure(Fault::outside, folder.string(), trf("the store cannot be made here: {}", error.message()),
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

Database open_folder(const fs::path& folder, Time now, const Store::Options& options) {
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

Database open_server(const ServerPlace& server, Time now, const Store::Options& options) {
    Database database = Database::at_server(server.address, Database::Options{options.busy_wait});
    if (schema_version(database) == 0) {
        if (!options.may_create)
            throw Failure(Fault::input, server.address, "there is no store in this database",
                          "check its name");
        if (database.count(database.dialect().count_tables()) > 0)
            throw Failure(Fault::input, server.address, "the database is no store and holds other tables",
                          "name a store or an empty database");
    }
    migrate(database, now);
    return database;
}

Database open_database(const Location& where, Time now, const Store::Options& options) {
    if (const ServerPlace* server = where.server()) return open_server(*server, now, options);
    return open_folder(*where.folder(), now, options);
}

std::unique_ptr<Originals> open_originals(const Location& where, const Database& database,
                                          const std::shared_ptr<FileCalls>& files) {
    const ServerPlace* server = where.server();
    if (server == nullptr) return std::make_unique<Blobs>(*where.folder() / originals_name, files);
    const std::vector<std::string> known = known_blobs(database, 1);
    if (is_bucket_address(server->photos)) {
        auto bucket = std::make_unique<Bucket>(bucket_place(server->photos, server->key_file));
        if (!bucket->is_marked() && !known.empty())
            throw Failure(Fault::outside, server->photos, "none of this store's photos are in this bucket",
                          "look whether --photos names it");
        if (!bucket->is_marked()) bucket->mark();
        return bucket;
    }
    // What is kept in the empty place of a share that is not mounted would be seen from this machine only.
    if (!Blobs::are_in(server->photos) && !known.empty())
        throw Failure(Fault::outside, server->photos, "none of this store's photos are in this folder",
                      "look whether the share is mounted and --photos names it");
    return std::make_unique<Blobs>(server->photos, files);
}

}  // namespace

Store::Store(const Location& where, Time now, const Options& options)
    : where_(where),
      database_(open_database(where, now, options)),
      originals_(open_originals(where, database_, options.files)) {}

}  // namespace frayhold::store
