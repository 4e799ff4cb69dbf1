// SPDX-License-Identifier: Apache-2.0
#include "cli/whole_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <fstream>

#include "cli/words.h"
#include "language/tr.h"
#include "units/error.h"

namespace frayhold::cli {
namespace {

namespace fs = std::filesystem;

Failure not_written(const fs::path& path, int reason) {
    return {Fault::outside, path.string(),
            trf("the file cannot be written ({})",
                system_words(std::error_code(reason, std::generic_category()))),
            tr("choose another folder or make room")};
}

// A new file beside the wanted one; gone again unless it is put in place.
class Beside {
  public:
    explicit Beside(const fs::path& wanted)
        : wanted_(wanted), path_(wanted.string() + fmt::format(".{}.part", getpid())) {
        constexpr mode_t as_the_umask_allows = 0666;
        file_ = open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, as_the_umask_allows);
        if (file_ < 0) throw not_written(wanted_, errno);
    }
    Beside(const Beside&) = delete;
    Beside& operator=(const Beside&) = delete;
    ~Beside() {
        if (file_ >= 0) close(file_);
        if (!in_place_) unlink(path_.c_str());
    }

    void write_all(std::span<const std::byte> bytes) {
        while (!bytes.empty()) {
            const ssize_t count = write(file_, bytes.data(), bytes.size());
            if (count < 0 && errno == EINTR) continue;
            if (count < 0) throw not_written(wanted_, errno);
            bytes = bytes.subspan(static_cast<std::size_t>(count));
        }
    }

    void put_in_place() {
        if (fsync(file_) != 0) throw not_written(wanted_, errno);
        const int closed = close(file_);
        file_ = -1;
        if (closed != 0) throw not_written(wanted_, errno);
        if (rename(path_.c_str(), wanted_.c_str()) != 0) throw not_written(wanted_, errno);
        in_place_ = true;
    }

  private:
    fs::path wanted_;
    fs::path path_;
    int file_ = -1;
    bool in_place_ = false;
};

}  // namespace

void write_whole_file(const fs::path& path, std::span<const std::byte> bytes) {
    Beside file(path);
    file.write_all(bytes);
    file.put_in_place();
}

std::vector<std::byte> read_whole_file(const fs::path& path) {
    constexpr std::uintmax_t largest = 200'000'000;
    std::error_code fault;
    const fs::file_status status = fs::status(path, fault);
    if (!fs::exists(status))
        throw Failure(Fault::input, path.string(), "there is no such file", "check its name");
    if (!fs::is_regular_file(status))
        throw Failure(Fault::input, path.string(), "this is a folder or device, not a file", "name one file");
    const std::uintmax_t size = fs::file_size(path, fault);
    if (size > largest)
        throw Failure(Fault::input, path.string(), "the file is larger than 200 MB", "give a smaller one");
    std::vector<std::byte> bytes(size);
    std::ifstream file(path, std::ios::binary);
    file.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
    if (!file || fault)
        throw Failure(Fault::input, path.string(), "the file cannot be read", "check its permissions");
    return bytes;
}

}  // namespace frayhold::cli
