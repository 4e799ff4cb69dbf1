// SPDX-License-Identifier: Apache-2.0
#include "store/backup.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <fstream>
#include <system_error>

#include "language/tr.h"
#include "photo/sha256.h"
#include "store/blobs.h"
#include "store/known_blobs.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void not_written(const fs::path& path, const std::string& why) {
    throw Failure(Fault::outside, path.string(), trf("the copy cannot be written: {}", why),
                  "make room, or name another folder");
}

// A folder beside the one wanted; gone again unless it is put in place.
class FolderInMaking {
  public:
    explicit FolderInMaking(const fs::path& wanted) : wanted_(fs::absolute(wanted).lexically_normal()) {
        if (!wanted_.has_filename()) wanted_ = wanted_.parent_path();
        path_ = wanted_.string() + fmt::format(".{}.part", ::getpid());
        std::error_code error;
        if (fs::exists(wanted_, error))
            throw Failure(Fault::input, wanted.string(), "there is something here already",
                          "name a folder that does not exist yet");
        if (!fs::create_directory(path_, error))
            not_written(wanted_, error ? error.message() : tr("it exists"));
    }
    FolderInMaking(const FolderInMaking&) = delete;
    FolderInMaking& operator=(const FolderInMaking&) = delete;
    ~FolderInMaking() {
        std::error_code ignored;
        if (!in_place_) fs::remove_all(path_, ignored);
    }

    [[nodiscard]] const fs::path& path() const { return path_; }

    // A rename never replaces a folder with something in it.
    void put_in_place() {
        std::error_code error;
        fs::rename(path_, wanted_, error);
        if (error) not_written(wanted_, error.message());
        in_place_ = true;
        sync(wanted_.parent_path());
    }

    static void sync(const fs::path& path) {
        const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
        if (file < 0) return;
        ::fsync(file);
        ::close(file);
    }

  private:
    fs::path wanted_;
    fs::path path_;
    bool in_place_ = false;
};

void demand_sound(const VerifyReport& report, const std::string& where) {
    if (report.is_sound()) return;
    const VerifyFault& first = report.faults.front();
    throw Failure(Fault::input, where, trf("it is not sound: {}: {}", first.where, first.what), first.mend);
}

// Written last, so that what is listed is what is there.
void write_manifest(const fs::path& folder, const std::vector<std::string>& kept) {
    const fs::path path = folder / backup_manifest;
    std::ofstream out(path, std::ios::binary);
    out << photo::sha256_hex_of_file((folder / "frayhold.db").string()) << "  frayhold.db\n";
    for (const std::string& sha256 : kept)
        out << sha256 << "  originals/" << sha256.substr(0, 2) << '/' << sha256 << '\n';
    out.close();
    if (!out) not_written(path, tr("the disk refused it"));
    FolderInMaking::sync(path);
}

struct ManifestLine {
    std::string sha256;
    fs::path path;  // relative, within the backup
};

std::vector<ManifestLine> read_manifest(const fs::path& backup) {
    std::ifstream in(backup / backup_manifest);
    std::vector<ManifestLine> lines;
    for (std::string line; std::getline(in, line);) {
        constexpr std::size_t digits = 64;
        if (line.size() < digits + 3) break;
        ManifestLine entry{line.substr(0, digits), line.substr(digits + 2)};
        if (!stays_inside(entry.path))
            throw Failure(Fault::input, backup.string(), "its manifest names a file outside the folder",
                          "take another backup");
        lines.push_back(std::move(entry));
    }
    if (lines.empty())
        throw Failure(Fault::input, backup.string(), "this folder is no backup",
                      "name the folder that backup made");
    return lines;
}

void copy_file(const fs::path& from, const fs::path& to, const std::string& sha256) {
    std::error_code error;
    if (!fs::exists(from, error) || photo::sha256_hex_of_file(from.string()) != sha256)
        throw Failure(Fault::input, from.string(), "it is not as the backup's manifest says",
                      "take another backup");
    fs::create_directories(to.parent_path(), error);
    if (!fs::copy_file(from, to, error)) not_written(to, error ? error.message() : tr("it exists"));
    FolderInMaking::sync(to);
}

}  // namespace

bool stays_inside(const fs::path& name) {
    return !name.empty() && name.is_relative() && name == name.lexically_normal() && *name.begin() != "..";
}

CopyReport restore_backup(const fs::path& backup, const fs::path& folder, Time now) {
    FolderInMaking making(folder);
    CopyReport report;
    for (const ManifestLine& line : read_manifest(backup)) {
        copy_file(backup / line.path, making.path() / line.path, line.sha256);
        std::error_code error;
        report.bytes += static_cast<std::int64_t>(fs::file_size(making.path() / line.path, error));
    }
    {
        const Store copy(making.path(), now, Store::Options{false, std::chrono::milliseconds(1000)});
        report.verified = verify(copy);
        demand_sound(report.verified, backup.string());
    }
    report.kept_files = report.verified.kept_files;
    FolderInMaking::sync(making.path());
    making.put_in_place();
    return report;
}

CopyReport copy_store(const Store& store, const fs::path& folder, Time now) {
    FolderInMaking making(folder);
    const fs::path file = making.path() / "frayhold.db";
    store.database().copy_to(file);
    CopyReport report;
    std::vector<std::string> kept;
    {
        // What the copy of the database speaks of was kept before it was copied.
        const Store copy(making.path(), now, Store::Options{false, std::chrono::milliseconds(1000)});
        kept = known_blobs(copy.database());
        Blobs blobs(making.path() / "originals");
        for (const std::string& sha256 : kept) {
            const std::vector<std::byte> bytes = store.blobs().read(sha256);
            blobs.keep(bytes);
            report.bytes += static_cast<std::int64_t>(bytes.size());
            ++report.kept_files;
        }
        report.verified = verify(copy);
        demand_sound(report.verified, folder.string());
    }
    FolderInMaking::sync(file);
    std::error_code error;
    report.bytes += static_cast<std::int64_t>(fs::file_size(file, error));
    write_manifest(making.path(), kept);
    FolderInMaking::sync(making.path());
    making.put_in_place();
    return report;
}

}  // namespace frayhold::store
