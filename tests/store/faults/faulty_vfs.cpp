// SPDX-License-Identifier: Apache-2.0
#include "store/faults/faulty_vfs.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <new>
#include <stdexcept>

namespace frayhold::testing {
namespace {

using Call = FaultyVfs::Call;

// SQLite gives room for this and for the real file behind it.
struct File {
    sqlite3_file base;
    FaultyVfs* vfs;
    std::string* path;

    sqlite3_file* real() { return reinterpret_cast<sqlite3_file*>(this + 1); }
};

File& file_of(sqlite3_file* base) {
    return *reinterpret_cast<File*>(base);
}

FaultyVfs& layer_of(sqlite3_vfs* vfs) {
    return *static_cast<FaultyVfs*>(vfs->pAppData);
}

std::int64_t size_of(File& file) {
    sqlite3_int64 size = 0;
    file.real()->pMethods->xFileSize(file.real(), &size);
    return size;
}

std::vector<char> bytes_at(File& file, std::int64_t at, std::int64_t count) {
    std::vector<char> bytes(static_cast<std::size_t>(std::max<std::int64_t>(0, count)));
    if (!bytes.empty())
        file.real()->pMethods->xRead(file.real(), bytes.data(), static_cast<int>(bytes.size()), at);
    return bytes;
}

void note_write(File& file, const char* data, int count, std::int64_t at) {
    FaultyVfs::Write write;
    write.at = at;
    write.size_before = size_of(file);
    write.before = bytes_at(file, at, std::min<std::int64_t>(count, write.size_before - at));
    write.after.assign(data, data + count);
    file.vfs->unflushed()[*file.path].push_back(std::move(write));
}

void note_truncation(File& file, std::int64_t size) {
    FaultyVfs::Write write;
    write.at = size;
    write.size_before = size_of(file);
    write.before = bytes_at(file, size, write.size_before - size);
    write.is_truncation = true;
    write.size_after = size;
    file.vfs->unflushed()[*file.path].push_back(std::move(write));
}

int close_file(sqlite3_file* base) {
    File& file = file_of(base);
    const int code = file.real()->pMethods->xClose(file.real());
    delete file.path;
    return code;
}

int read_file(sqlite3_file* base, void* to, int count, sqlite3_int64 at) {
    File& file = file_of(base);
    if (file.vfs->befalls(Call::other)) return SQLITE_IOERR_READ;
    return file.real()->pMethods->xRead(file.real(), to, count, at);
}

int write_file(sqlite3_file* base, const void* from, int count, sqlite3_int64 at) {
    File& file = file_of(base);
    const auto* data = static_cast<const char*>(from);
    if (file.vfs->befalls(Call::write)) {
        switch (file.vfs->fault()) {
            case DiskFault::full:
                return SQLITE_FULL;
            case DiskFault::read_only:
                return SQLITE_READONLY;
            case DiskFault::short_write:
                note_write(file, data, count / 2, at);
                file.real()->pMethods->xWrite(file.real(), from, count / 2, at);
                return SQLITE_FULL;
            default:
                return SQLITE_IOERR_WRITE;
        }
    }
    note_write(file, data, count, at);
    return file.real()->pMethods->xWrite(file.real(), from, count, at);
}

int truncate_file(sqlite3_file* base, sqlite3_int64 size) {
    File& file = file_of(base);
    if (file.vfs->befalls(Call::change)) return SQLITE_IOERR_TRUNCATE;
    note_truncation(file, size);
    return file.real()->pMethods->xTruncate(file.real(), size);
}

int sync_file(sqlite3_file* base, int flags) {
    File& file = file_of(base);
    if (file.vfs->befalls(Call::change)) return SQLITE_IOERR_FSYNC;
    file.vfs->unflushed().erase(*file.path);
    file.vfs->new_files().erase(*file.path);
    return file.real()->pMethods->xSync(file.real(), flags);
}

int size_of_file(sqlite3_file* base, sqlite3_int64* size) {
    File& file = file_of(base);
    if (file.vfs->befalls(Call::other)) return SQLITE_IOERR_FSTAT;
    return file.real()->pMethods->xFileSize(file.real(), size);
}

int lock_file(sqlite3_file* base, int level) {
    File& file = file_of(base);
    if (file.vfs->befalls(Call::other)) return SQLITE_IOERR_LOCK;
    return file.real()->pMethods->xLock(file.real(), level);
}

int unlock_file(sqlite3_file* base, int level) {
    return file_of(base).real()->pMethods->xUnlock(file_of(base).real(), level);
}

int check_lock(sqlite3_file* base, int* held) {
    return file_of(base).real()->pMethods->xCheckReservedLock(file_of(base).real(), held);
}

int control_file(sqlite3_file* base, int what, void* value) {
    return file_of(base).real()->pMethods->xFileControl(file_of(base).real(), what, value);
}

int sector_size(sqlite3_file* base) {
    return file_of(base).real()->pMethods->xSectorSize(file_of(base).real());
}

// Nothing is promised of a write that the power interrupts.
int characteristics(sqlite3_file*) {
    return 0;
}

int map_shared(sqlite3_file* base, int page, int size, int extend, void volatile** memory) {
    File& file = file_of(base);
    if (file.vfs->befalls(Call::other)) return SQLITE_IOERR_SHMMAP;
    return file.real()->pMethods->xShmMap(file.real(), page, size, extend, memory);
}

int lock_shared(sqlite3_file* base, int offset, int count, int flags) {
    return file_of(base).real()->pMethods->xShmLock(file_of(base).real(), offset, count, flags);
}

void shared_barrier(sqlite3_file* base) {
    file_of(base).real()->pMethods->xShmBarrier(file_of(base).real());
}

int unmap_shared(sqlite3_file* base, int remove) {
    return file_of(base).real()->pMethods->xShmUnmap(file_of(base).real(), remove);
}

constexpr sqlite3_io_methods methods{
    2,           close_file,     read_file,    write_file,   truncate_file, sync_file,       size_of_file,
    lock_file,   unlock_file,    check_lock,   control_file, sector_size,   characteristics, map_shared,
    lock_shared, shared_barrier, unmap_shared, nullptr,      nullptr};

int open_file(sqlite3_vfs* vfs, const char* name, sqlite3_file* base, int flags, int* out_flags) {
    FaultyVfs& layer = layer_of(vfs);
    base->pMethods = nullptr;
    if (layer.befalls(Call::other)) return SQLITE_CANTOPEN;
    auto* file = new (base) File{};
    const bool is_new = name != nullptr && !std::filesystem::exists(name);
    const int code = layer.real().xOpen(&layer.real(), name, file->real(), flags, out_flags);
    if (file->real()->pMethods == nullptr) return code;
    file->vfs = &layer;
    file->path = new std::string(name == nullptr ? "" : name);
    if (is_new) layer.new_files()[*file->path] = true;
    file->base.pMethods = &methods;
    return code;
}

int delete_file(sqlite3_vfs* vfs, const char* name, int sync) {
    FaultyVfs& layer = layer_of(vfs);
    if (layer.befalls(Call::change)) return SQLITE_IOERR_DELETE;
    layer.unflushed().erase(name);
    layer.new_files().erase(name);
    return layer.real().xDelete(&layer.real(), name, sync);
}

void put(std::fstream& file, std::int64_t at, const std::vector<char>& bytes) {
    file.seekp(at);
    file.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    file.flush();
}

void undo(const std::string& path, const FaultyVfs::Write& write) {
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    put(file, write.at, write.before);
    file.close();
    std::filesystem::resize_file(path, static_cast<std::uintmax_t>(write.size_before));
}

void redo(const std::string& path, const FaultyVfs::Write& write) {
    if (write.is_truncation) {
        std::filesystem::resize_file(path, static_cast<std::uintmax_t>(write.size_after));
        return;
    }
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    put(file, write.at, write.after);
}

}  // namespace

FaultyVfs::FaultyVfs() : real_(sqlite3_vfs_find(nullptr)) {
    own_ = *real_;
    own_.pNext = nullptr;
    own_.zName = "faulty";
    own_.pAppData = this;
    own_.szOsFile = static_cast<int>(sizeof(File)) + real_->szOsFile;
    own_.xOpen = open_file;
    own_.xDelete = delete_file;
    // The real layer keeps nothing of its own behind pAppData but in its opening (SQLite's os_unix.c).
    own_.xAccess = [](sqlite3_vfs* vfs, const char* name, int flags, int* out) {
        return layer_of(vfs).real().xAccess(&layer_of(vfs).real(), name, flags, out);
    };
    own_.xFullPathname = [](sqlite3_vfs* vfs, const char* name, int size, char* out) {
        return layer_of(vfs).real().xFullPathname(&layer_of(vfs).real(), name, size, out);
    };
    if (sqlite3_vfs_register(&own_, 1) != SQLITE_OK) throw std::runtime_error("no file layer");
}

FaultyVfs::~FaultyVfs() {
    sqlite3_vfs_unregister(&own_);
    sqlite3_vfs_register(real_, 1);
}

void FaultyVfs::fail_at(DiskFault fault, int n) {
    fault_ = fault;
    left_ = n;
    broken_ = false;
    happened_ = false;
    unflushed_.clear();
    new_files_.clear();
}

bool FaultyVfs::calm() {
    left_ = 0;
    broken_ = false;
    return happened_;
}

bool FaultyVfs::befalls(Call call) {
    const bool needs_write =
        fault_ == DiskFault::full || fault_ == DiskFault::read_only || fault_ == DiskFault::short_write;
    if (broken_)
        return fault_ == DiskFault::failing || fault_ == DiskFault::power_loss || call == Call::write;
    if (left_ == 0 || (needs_write && call != Call::write)) return false;
    if (fault_ == DiskFault::power_loss && call == Call::other) return false;
    if (--left_ > 0) return false;
    happened_ = true;
    broken_ = fault_ != DiskFault::io_error;
    return true;
}

void FaultyVfs::lose_unflushed(std::mt19937& chance, bool keep_some) {
    std::bernoulli_distribution kept(0.5);
    for (auto& [path, writes] : unflushed_) {
        if (!std::filesystem::exists(path)) continue;
        for (auto write = writes.rbegin(); write != writes.rend(); ++write) undo(path, *write);
        for (const Write& write : writes)
            if (keep_some && kept(chance)) redo(path, write);
    }
    for (const auto& [path, is_new] : new_files_)
        if (is_new && !(keep_some && kept(chance))) std::filesystem::remove(path);
    unflushed_.clear();
    new_files_.clear();
}

}  // namespace frayhold::testing
