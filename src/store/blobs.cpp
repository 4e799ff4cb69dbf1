// SPDX-License-Identifier: Apache-2.0
#include "store/blobs.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <fstream>
#include <random>
#include <system_error>

#include "language/tr.h"
#include "photo/sha256.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t sha256_digits = 64;

[[noreturn]] void fail(const fs::path& path, const std::string& what, int code) {
    const std::string reason = std::generic_category().message(code);
    const char* mend = tr_later("check the folder and who may write to it");
    if (code == ENOSPC || code == EFBIG || code == EDQUOT)
        mend = tr_later("make room on the disk and try again");
    throw Failure(Fault::outside, path.string(), what + ": " + reason, mend);
}

// An open file or folder, closed at the end.
class Descriptor {
  public:
    Descriptor(FileCalls& files, const fs::path& path, int flags, mode_t mode = 0)
        : number_(files.open(path, flags, mode)) {}
    ~Descriptor() {
        if (number_ >= 0) ::close(number_);
    }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;

    [[nodiscard]] bool is_open() const { return number_ >= 0; }
    [[nodiscard]] int number() const { return number_; }

  private:
    int number_;
};

void make_folder(FileCalls& files, const fs::path& folder) {
    constexpr mode_t for_all = 0777;
    if (folder.empty() || fs::is_directory(folder)) return;
    make_folder(files, folder.parent_path());
    if (files.mkdir(folder, for_all) != 0) fail(folder, tr("the folder cannot be made"), errno);
}

// A new name in a folder lasts only once the folder itself is on the disk.
void flush_folder(FileCalls& files, const fs::path& folder) {
    const Descriptor open(files, folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (!open.is_open() || files.fsync(open.number()) != 0)
        fail(folder, tr("the folder cannot be flushed"), errno);
}

void write_all(FileCalls& files, const Descriptor& file, const fs::path& path,
               std::span<const std::byte> bytes) {
    while (!bytes.empty()) {
        const ssize_t written = files.write(file.number(), bytes);
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) fail(path, tr("the bytes cannot be written"), errno);
        bytes = bytes.subspan(static_cast<std::size_t>(written));
    }
}

// A file of its own in the incoming folder, locked for as long as this lives; gone at the end unless it was
// placed.
class Incoming {
  public:
    Incoming(FileCalls& files, const fs::path& folder)
        : files_(files), path_(folder / random_name()), file_(files, path_, flags, 0600) {
        if (!file_.is_open()) fail(path_, tr("the file cannot be made"), errno);
        ::flock(file_.number(), LOCK_EX);
    }
    ~Incoming() {
        if (!placed_) files_.unlink(path_);
    }
    Incoming(const Incoming&) = delete;
    Incoming& operator=(const Incoming&) = delete;

    // False where a sweep took the file between its making and its lock.
    [[nodiscard]] bool is_there() const {
        struct stat facts {};
        return ::fstat(file_.number(), &facts) == 0 && facts.st_nlink > 0;
    }

    void fill(std::span<const std::byte> bytes) const {
        write_all(files_, file_, path_, bytes);
        if (files_.fchmod(file_.number(), 0444) != 0)
            fail(path_, tr("the file cannot be made read-only"), errno);
        if (files_.fsync(file_.number()) != 0)
            fail(path_, tr("the bytes cannot be flushed to the disk"), errno);
    }

    void place(const fs::path& target) {
        if (files_.rename(path_, target) != 0) fail(target, tr("the file cannot be put in its place"), errno);
        placed_ = true;
    }

  private:
    static constexpr int flags = O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW;

    static std::string random_name() {
        std::random_device source;
        return fmt::format("{}-{:08x}{:08x}", ::getpid(), source(), source());
    }

    FileCalls& files_;
    fs::path path_;
    Descriptor file_;
    bool placed_ = false;
};

bool is_sha256(const std::string& text) {
    return text.size() == sha256_digits && text.find_first_not_of("0123456789abcdef") == std::string::npos;
}

}  // namespace

Blobs::Blobs(fs::path folder, std::shared_ptr<FileCalls> files)
    : folder_(std::move(folder)), files_(std::move(files)) {
    if (!fs::exists(folder_ / "incoming")) {
        make_folder(*files_, folder_ / "incoming");
        flush_folder(*files_, folder_);
        flush_folder(*files_, fs::absolute(folder_).parent_path());
    }
    sweep_incoming();
}

bool Blobs::are_in(const fs::path& folder) {
    std::error_code unreadable;
    return fs::is_directory(folder / "incoming", unreadable);
}

void Blobs::sweep_incoming() const {
    std::error_code error;
    for (const fs::directory_entry& entry : fs::directory_iterator(folder_ / "incoming", error)) {
        const Descriptor left(*files_, entry.path(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
        if (left.is_open() && ::flock(left.number(), LOCK_EX | LOCK_NB) == 0) files_->unlink(entry.path());
    }
}

fs::path Blobs::path_of(const std::string& sha256) const {
    if (!is_sha256(sha256))
        throw Failure(Fault::input, sha256, "this is no SHA-256", "give 64 lower-case hex digits");
    return folder_ / sha256.substr(0, 2) / sha256;
}

std::string Blobs::keep(std::span<const std::byte> bytes) {
    std::string sha256 = photo::sha256_hex(bytes);
    const fs::path target = path_of(sha256);
    if (condition(sha256) == Condition::sound) {
        // An earlier try may have failed between placing and flushing.
        flush_folder(*files_, target.parent_path());
        flush_folder(*files_, folder_);
        return sha256;
    }
    make_folder(*files_, target.parent_path());
    for (bool placed = false; !placed;) {
        Incoming incoming(*files_, folder_ / "incoming");
        if (!incoming.is_there()) continue;
        incoming.fill(bytes);
        incoming.place(target);
        placed = true;
    }
    flush_folder(*files_, target.parent_path());
    flush_folder(*files_, folder_);
    return sha256;
}

std::vector<std::byte> Blobs::read(const std::string& sha256) const {
    const fs::path path = path_of(sha256);
    std::ifstream file(path, std::ios::binary);
    if (!file)
        throw Failure(Fault::outside, path.string(), "the kept file is missing", "restore it from a backup");
    std::vector<std::byte> bytes;
    std::vector<char> piece(1 << 20);
    while (file.read(piece.data(), static_cast<std::streamsize>(piece.size())) || file.gcount() > 0) {
        const auto part = std::as_bytes(std::span(piece).first(static_cast<std::size_t>(file.gcount())));
        bytes.insert(bytes.end(), part.begin(), part.end());
    }
    if (file.bad())
        throw Failure(Fault::outside, path.string(), "the kept file cannot be read", "check the disk");
    if (photo::sha256_hex(bytes) != sha256)
        throw Failure(Fault::outside, path.string(), "the kept file was altered: its SHA-256 is another",
                      "restore it from a backup");
    return bytes;
}

Blobs::Condition Blobs::condition(const std::string& sha256) const {
    const fs::path path = path_of(sha256);
    std::error_code error;
    if (!fs::exists(path, error)) return error ? Condition::unreadable : Condition::missing;
    try {
        return photo::sha256_hex_of_file(path.string()) == sha256 ? Condition::sound : Condition::altered;
    } catch (const Failure&) {
        return Condition::unreadable;
    }
}

std::vector<std::string> Blobs::list() const {
    std::vector<std::string> names;
    std::error_code error;
    auto at = fs::recursive_directory_iterator(folder_, error);
    for (; !error && at != fs::recursive_directory_iterator(); at.increment(error)) {
        const fs::directory_entry& entry = *at;
        if (entry.is_directory(error) || entry.path().parent_path() == folder_ / "incoming") continue;
        const std::string name = entry.path().filename().string();
        const bool in_place = is_sha256(name) && entry.path() == path_of(name);
        names.push_back(in_place ? name : entry.path().string());
    }
    if (error) fail(folder_, tr("the kept files cannot be listed"), error.value());
    std::sort(names.begin(), names.end());
    return names;
}

}  // namespace frayhold::store
