// SPDX-License-Identifier: Apache-2.0
#include "store/backup_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>
#include <zip.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <fstream>
#include <memory>
#include <system_error>

#include "language/tr.h"
#include "photo/sha256.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;

struct Discard {
    void operator()(zip_t* zip) const { zip_discard(zip); }
};
struct CloseEntry {
    void operator()(zip_file_t* entry) const { zip_fclose(entry); }
};
using Zip = std::unique_ptr<zip_t, Discard>;
using Entry = std::unique_ptr<zip_file_t, CloseEntry>;

[[noreturn]] void not_written(const fs::path& file, const std::string& why) {
    throw Failure(Fault::outside, file.string(), trf("the copy cannot be written: {}", why),
                  "make room, or name another file");
}

[[noreturn]] void no_backup(const fs::path& file, const std::string& why) {
    throw Failure(Fault::input, file.string(), trf("this file is no sound backup: {}", why),
                  "take another backup");
}

// A file or folder that is gone at the end whatever happens.
class Passing {
  public:
    explicit Passing(fs::path path) : path_(std::move(path)) {}
    ~Passing() {
        std::error_code ignored;
        fs::remove_all(path_, ignored);
    }
    Passing(const Passing&) = delete;
    Passing& operator=(const Passing&) = delete;

    [[nodiscard]] const fs::path& path() const { return path_; }

  private:
    fs::path path_;
};

std::vector<fs::path> files_of(const fs::path& folder) {
    std::vector<fs::path> files;
    for (const fs::directory_entry& entry : fs::recursive_directory_iterator(folder))
        if (entry.is_regular_file()) files.push_back(entry.path().lexically_relative(folder));
    std::sort(files.begin(), files.end());
    return files;
}

void write_zip(const fs::path& folder, const fs::path& target, const fs::path& wanted) {
    int code = 0;
    Zip zip(zip_open(target.c_str(), ZIP_CREATE | ZIP_EXCL, &code));
    if (!zip) not_written(wanted, tr("the file cannot be made"));
    for (const fs::path& name : files_of(folder)) {
        zip_source_t* content = zip_source_file(zip.get(), (folder / name).c_str(), 0, -1);
        const zip_int64_t at =
            content == nullptr ? -1 : zip_file_add(zip.get(), name.c_str(), content, ZIP_FL_ENC_UTF_8);
        if (at < 0) {
            zip_source_free(content);
            not_written(wanted, zip_strerror(zip.get()));
        }
        // Photos do not get smaller; the database does.
        const zip_int32_t method = name.begin()->string() == "originals" ? ZIP_CM_STORE : ZIP_CM_DEFLATE;
        zip_set_file_compression(zip.get(), static_cast<zip_uint64_t>(at), method, 0);
    }
    if (zip_close(zip.get()) != 0) not_written(wanted, zip_strerror(zip.get()));
    static_cast<void>(zip.release());  // closed: nothing is left to discard
}

Zip opened(const fs::path& file) {
    int code = 0;
    Zip zip(zip_open(file.c_str(), ZIP_RDONLY, &code));
    if (!zip) no_backup(file, tr("it cannot be opened as a zip"));
    return zip;
}

// Gives every entry's name and then its bytes piece by piece.
template <class Begin, class Take>
void each_entry(const fs::path& file, const Begin& begin, const Take& take) {
    const Zip zip = opened(file);
    const zip_int64_t count = zip_get_num_entries(zip.get(), 0);
    std::vector<std::byte> piece(1 << 20);
    for (zip_int64_t i = 0; i < count; ++i) {
        const auto at = static_cast<zip_uint64_t>(i);
        const char* name = zip_get_name(zip.get(), at, ZIP_FL_ENC_GUESS);
        const Entry entry(zip_fopen_index(zip.get(), at, 0));
        if (name == nullptr || !entry) no_backup(file, tr("an entry cannot be read"));
        begin(std::string(name));
        zip_int64_t got = 0;
        while ((got = zip_fread(entry.get(), piece.data(), piece.size())) > 0)
            take(std::span<const std::byte>(piece).first(static_cast<std::size_t>(got)));
        if (got < 0) no_backup(file, trf("{} cannot be read whole", name));
    }
}

// The finished file against the folder it was made from.
void hold_to(const fs::path& file, const fs::path& folder, const fs::path& wanted) {
    std::vector<std::pair<std::string, std::string>> written;
    photo::Sha256 digest;
    const auto finish = [&] {
        if (!written.empty()) written.back().second = digest.hex();
    };
    each_entry(
        file,
        [&](const std::string& name) {
            finish();
            written.emplace_back(name, "");
            digest = photo::Sha256();
        },
        [&](std::span<const std::byte> bytes) { digest.add(bytes); });
    finish();
    const std::vector<fs::path> names = files_of(folder);
    bool same = written.size() == names.size();
    for (std::size_t i = 0; same && i < names.size(); ++i)
        same = written[i].first == names[i].string() &&
               written[i].second == photo::sha256_hex_of_file((folder / names[i]).string());
    if (!same) not_written(wanted, tr("what was written does not read back the same"));
}

void flush(const fs::path& path) {
    const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    const bool flushed = file >= 0 && ::fsync(file) == 0;
    if (file >= 0) ::close(file);
    if (!flushed) not_written(path, std::generic_category().message(errno));
}

[[noreturn]] void something_here(const fs::path& file) {
    throw Failure(Fault::input, file.string(), "there is something here already",
                  "name a file that does not exist yet");
}

// Never over a file that came meanwhile. Some file systems cannot promise that and say so.
void place(const fs::path& from, const fs::path& to) {
    if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) return;
    if (errno == EEXIST) something_here(to);
    std::error_code error;
    if (errno != EINVAL && errno != ENOSYS) not_written(to, std::generic_category().message(errno));
    if (fs::exists(to, error)) something_here(to);
    fs::rename(from, to, error);
    if (error) not_written(to, error.message());
}

}  // namespace

CopyReport copy_store_to_file(const Store& store, const fs::path& file, Time now) {
    const fs::path wanted = fs::absolute(file).lexically_normal();
    std::error_code error;
    if (fs::exists(wanted, error)) something_here(file);
    const Passing folder(wanted.string() + fmt::format(".{}.parts", ::getpid()));
    const Passing half(wanted.string() + fmt::format(".{}.part", ::getpid()));
    CopyReport report = copy_store(store, folder.path(), now);
    write_zip(folder.path(), half.path(), wanted);
    hold_to(half.path(), folder.path(), wanted);
    flush(half.path());
    place(half.path(), wanted);
    flush(wanted.parent_path());
    report.bytes = static_cast<std::int64_t>(fs::file_size(wanted, error));
    return report;
}

CopyReport restore_backup_file(const fs::path& file, const fs::path& folder, Time now) {
    fs::path wanted = fs::absolute(folder).lexically_normal();
    if (!wanted.has_filename()) wanted = wanted.parent_path();
    std::error_code error;
    if (fs::exists(wanted, error))
        throw Failure(Fault::input, folder.string(), "there is something here already",
                      "name a folder that does not exist yet");
    const Passing unpacked(wanted.string() + fmt::format(".{}.unpacked", ::getpid()));
    if (!fs::create_directory(unpacked.path(), error))
        not_written(wanted, error ? error.message() : tr("it exists"));
    std::ofstream out;
    each_entry(
        file,
        [&](const std::string& name) {
            if (!stays_inside(name)) no_backup(file, tr("it names a file outside the folder"));
            const fs::path path = unpacked.path() / name;
            fs::create_directories(path.parent_path(), error);
            out = std::ofstream(path, std::ios::binary);
        },
        [&](std::span<const std::byte> bytes) {
            out.write(reinterpret_cast<const char*>(bytes.data()),
                      static_cast<std::streamsize>(bytes.size()));
            if (!out) not_written(wanted, tr("the disk refused it"));
        });
    out.close();
    if (!out) not_written(wanted, tr("the disk refused it"));
    return restore_backup(unpacked.path(), folder, now);
}

}  // namespace frayhold::store
