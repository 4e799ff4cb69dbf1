// SPDX-License-Identifier: Apache-2.0
#include "pack/pack_folder.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zip.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <memory>
#include <set>
#include <string_view>
#include <utility>

#include "language/tr.h"
#include "photo/sha256.h"
#include "units/error.h"

namespace frayhold::pack {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view path_signs = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789._-";

// Parts between single strokes, each of plain signs and not beginning with a dot.
bool plain_path(std::string_view path) {
    for (;;) {
        const std::size_t stroke = std::min(path.find('/'), path.size());
        const std::string_view part = path.substr(0, stroke);
        if (part.empty() || part.front() == '.' ||
            part.find_first_not_of(path_signs) != std::string_view::npos)
            return false;
        if (stroke == path.size()) return true;
        path.remove_prefix(stroke + 1);
    }
}

std::vector<std::byte> bytes_of(std::string_view text) {
    const auto* from = reinterpret_cast<const std::byte*>(text.data());
    return {from, from + text.size()};
}

void sort_by_path(std::vector<PackFile>& files) {
    std::sort(files.begin(), files.end(),
              [](const PackFile& a, const PackFile& b) { return a.path < b.path; });
}

// One line a file (RFC 8493, 2.1.3): the form that sha256sum -c reads.
PackFile manifest_of(const std::vector<PackFile>& files, const std::string& name) {
    std::string text;
    for (const PackFile& file : files) text += photo::sha256_hex(file.bytes) + "  " + file.path + "\n";
    return {name, bytes_of(text)};
}

// One element of the bag's label (RFC 8493, 2.2.2); a line break within would begin another element.
void add_label(std::string& text, std::string_view name, std::string value) {
    std::replace_if(
        value.begin(), value.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; },
        ' ');
    if (!value.empty()) text += fmt::format("{}: {}\n", name, value);
}

std::string bag_label(const Bag& bag) {
    std::size_t octets = 0;
    for (const PackFile& file : bag.payload) octets += file.bytes.size();
    std::string text;
    add_label(text, "Source-Organization", bag.organization);
    add_label(text, "Contact-Name", bag.contact);
    add_label(text, "External-Description", bag.description);
    add_label(text, "External-Identifier", bag.hold_number);
    add_label(text, "Bagging-Date", to_text(day_of(bag.made)));
    add_label(text, "Payload-Oxum", fmt::format("{}.{}", octets, bag.payload.size()));
    return text;
}

Failure disk_failure(const fs::path& path, int code) {
    return {Fault::outside, path.string(), trf("it could not be written ({})", std::strerror(code)),
            tr("free space or choose another folder")};
}

// Writes and reaches the disk, or throws.
void write_file(const fs::path& path, const std::vector<std::byte>& bytes) {
    const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644);
    if (file < 0) throw disk_failure(path, errno);
    std::size_t done = 0;
    int fault = 0;
    while (done < bytes.size() && fault == 0) {
        const ssize_t written = ::write(file, bytes.data() + done, bytes.size() - done);
        if (written < 0 && errno != EINTR) fault = errno;
        if (written > 0) done += static_cast<std::size_t>(written);
    }
    if (fault == 0 && ::fsync(file) != 0) fault = errno;
    if (::close(file) != 0 && fault == 0) fault = errno;
    if (fault != 0) throw disk_failure(path, fault);
}

void sync_folder(const fs::path& path) {
    const int folder = ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0) throw disk_failure(path, errno);
    const int fault = ::fsync(folder) == 0 ? 0 : errno;
    ::close(folder);
    if (fault != 0) throw disk_failure(path, fault);
}

// A new folder beside the wanted one that goes again unless it is kept.
class Draft {
  public:
    explicit Draft(const fs::path& beside) {
        std::string pattern =
            (beside.parent_path() / (".part-" + beside.filename().string() + "-XXXXXX")).string();
        if (::mkdtemp(pattern.data()) == nullptr) throw disk_failure(beside.parent_path(), errno);
        path_ = pattern;
    }
    ~Draft() {
        std::error_code ignored;
        if (!path_.empty()) fs::remove_all(path_, ignored);
    }
    Draft(const Draft&) = delete;
    Draft& operator=(const Draft&) = delete;

    [[nodiscard]] const fs::path& path() const { return path_; }

    void keep_as(const fs::path& name) {
        constexpr mode_t like_other_folders = 0755;
        if (::chmod(path_.c_str(), like_other_folders) != 0) throw disk_failure(path_, errno);
        // A folder takes the place of an empty one only, so nothing can be lost here.
        if (::rename(path_.c_str(), name.c_str()) != 0) throw disk_failure(name, errno);
        path_.clear();
    }

  private:
    fs::path path_;
};

struct DiscardZip {
    void operator()(zip_t* zip) const { zip_discard(zip); }
};
struct FreeSource {
    void operator()(zip_source_t* source) const { zip_source_free(source); }
};

Failure zip_failure(const std::string& words) {
    return {Fault::outside, "pack.zip", trf("it could not be made ({})", words),
            tr("free some memory and try again")};
}

// The time as MS-DOS has it, by UTC: libzip's own setter would go by the machine's time zone.
struct DosTime {
    zip_uint16_t time = 0;
    zip_uint16_t date = 0;
};

DosTime dos_time(Time time) {
    const auto day = std::chrono::floor<std::chrono::days>(time);
    const Date date(day);
    const std::chrono::hh_mm_ss clock(time - day);
    constexpr int first_year = 1980;
    const int year = std::clamp(static_cast<int>(date.year()), first_year, first_year + 127) - first_year;
    return {static_cast<zip_uint16_t>(clock.hours().count() << 11 | clock.minutes().count() << 5 |
                                      clock.seconds().count() / 2),
            static_cast<zip_uint16_t>(year << 9 | static_cast<int>(static_cast<unsigned>(date.month())) << 5 |
                                      static_cast<int>(static_cast<unsigned>(date.day())))};
}

bool is_compressed_already(std::string_view path) {
    return path.ends_with(".jpg") || path.ends_with(".png") || path.ends_with(".pdf");
}

void add_to_zip(zip_t* zip, const std::string& name, const PackFile& file, const DosTime& time) {
    zip_source_t* content = zip_source_buffer(zip, file.bytes.data(), file.bytes.size(), 0);
    const zip_int64_t index =
        content == nullptr ? -1 : zip_file_add(zip, name.c_str(), content, ZIP_FL_ENC_UTF_8);
    if (index < 0) {
        zip_source_free(content);
        throw zip_failure(zip_strerror(zip));
    }
    const auto at = static_cast<zip_uint64_t>(index);
    constexpr zip_uint32_t plain_file = 0100644U << 16U;
    const bool set = zip_file_set_dostime(zip, at, time.time, time.date, 0) == 0 &&
                     zip_set_file_compression(
                         zip, at, is_compressed_already(file.path) ? ZIP_CM_STORE : ZIP_CM_DEFLATE, 9) == 0 &&
                     zip_file_set_external_attributes(zip, at, 0, ZIP_OPSYS_UNIX, plain_file) == 0;
    if (!set) throw zip_failure(zip_strerror(zip));
}

}  // namespace

std::vector<PackFile> bag_files(const Bag& bag) {
    std::vector<PackFile> payload;
    std::set<std::string> taken;
    for (const PackFile& file : bag.payload) {
        if (!plain_path(file.path))
            throw Failure(Fault::input, trf("pack file “{}”", file.path), "its path cannot stand in a pack",
                          "use letters, digits, dots, dashes and underscores");
        if (!taken.insert(file.path).second)
            throw Failure(Fault::input, trf("pack file “{}”", file.path), "it occurs twice",
                          "give it another name");
        payload.push_back({"data/" + file.path, file.bytes});
    }
    sort_by_path(payload);
    std::vector<PackFile> tags{
        {"bagit.txt", bytes_of("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")},
        {"bag-info.txt", bytes_of(bag_label(bag))},
        manifest_of(payload, "manifest-sha256.txt"),
    };
    sort_by_path(tags);
    PackFile of_tags = manifest_of(tags, "tagmanifest-sha256.txt");
    std::vector<PackFile> all = std::move(payload);
    all.insert(all.end(), std::make_move_iterator(tags.begin()), std::make_move_iterator(tags.end()));
    all.push_back(std::move(of_tags));
    sort_by_path(all);
    return all;
}

void write_pack_folder(const fs::path& folder, const Bag& bag) {
    const std::vector<PackFile> files = bag_files(bag);
    const fs::path target = fs::absolute(folder.has_filename() ? folder : folder.parent_path());
    std::error_code unseen;
    if (fs::exists(fs::symlink_status(target, unseen)))
        throw Failure(Fault::input, folder.string(), "it exists already",
                      "choose a new name: a pack is never overwritten");
    if (!fs::is_directory(target.parent_path(), unseen))
        throw Failure(Fault::input, folder.string(), "the folder it should lie in does not exist",
                      "make that folder first");

    Draft draft(target);
    std::set<fs::path> folders{draft.path()};
    for (const PackFile& file : files) {
        const fs::path path = draft.path() / file.path;
        fs::create_directories(path.parent_path(), unseen);
        if (unseen) throw disk_failure(path.parent_path(), unseen.value());
        for (fs::path at = path.parent_path(); at != draft.path(); at = at.parent_path()) folders.insert(at);
        write_file(path, file.bytes);
    }
    for (const fs::path& written : folders) sync_folder(written);
    draft.keep_as(target);
    sync_folder(target.parent_path());
}

std::vector<std::byte> pack_zip(const Bag& bag) {
    const std::vector<PackFile> files = bag_files(bag);
    if (!plain_path(bag.hold_number) || bag.hold_number.find('/') != std::string::npos)
        throw Failure(Fault::input, tr("hold number"), "it cannot name a folder",
                      "use letters, digits and dashes");
    zip_error_t error;
    zip_error_init(&error);
    const std::unique_ptr<zip_source_t, FreeSource> target(zip_source_buffer_create(nullptr, 0, 0, &error));
    if (!target) throw zip_failure(zip_error_strerror(&error));
    zip_source_keep(target.get());  // one share for the archive, one for reading the result
    zip_t* opened = zip_open_from_source(target.get(), ZIP_CREATE | ZIP_TRUNCATE, &error);
    if (opened == nullptr) {
        zip_source_free(target.get());
        throw zip_failure(zip_error_strerror(&error));
    }
    std::unique_ptr<zip_t, DiscardZip> zip(opened);
    const DosTime time = dos_time(bag.made);
    for (const PackFile& file : files) add_to_zip(zip.get(), bag.hold_number + "/" + file.path, file, time);
    if (zip_close(zip.get()) != 0) throw zip_failure(zip_strerror(zip.get()));
    (void)zip.release();  // closed: nothing is left to discard

    zip_stat_t about;
    if (zip_source_open(target.get()) != 0) throw zip_failure(tr("its bytes cannot be read"));
    std::vector<std::byte> bytes;
    const bool sized = zip_source_stat(target.get(), &about) == 0 && (about.valid & ZIP_STAT_SIZE) != 0;
    if (sized) bytes.resize(about.size);
    const bool read = sized && zip_source_read(target.get(), bytes.data(), about.size) ==
                                   static_cast<zip_int64_t>(about.size);
    zip_source_close(target.get());
    if (!read) throw zip_failure(tr("its bytes cannot be read"));
    return bytes;
}

}  // namespace frayhold::pack
