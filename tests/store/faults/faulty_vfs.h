// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <map>
#include <random>
#include <string>
#include <vector>

namespace frayhold::testing {

// What goes wrong at the chosen call.
enum class DiskFault {
    io_error,     // any call: the disk fails, once
    failing,      // any call, and every later one
    full,         // a write: no room, and none later
    read_only,    // a write: not allowed, and never later
    short_write,  // a write: half of the bytes arrive, then there is no room
    power_loss,   // a call that changes something: nothing is done from then on
};

// The system's own file layer of SQLite, which fails when it is told. As long as one lives it is what every
// new connection of this process uses.
//
// Power loss: what was written to a file and not flushed since may be there or not, each write by itself; a
// file that was made and never flushed is gone. Only then is a write safe.
class FaultyVfs {
  public:
    FaultyVfs();
    ~FaultyVfs();
    FaultyVfs(const FaultyVfs&) = delete;
    FaultyVfs& operator=(const FaultyVfs&) = delete;

    // The n-th call from now on that the fault can befall; 1 is the next.
    void fail_at(DiskFault fault, int n);
    // Nothing fails from now on. Gives whether anything did.
    bool calm();

    // Brings the files to what a disk may hold after the power went; `keep_some` lets each unflushed write
    // survive by chance instead of none.
    void lose_unflushed(std::mt19937& chance, bool keep_some);

    struct Write {
        std::int64_t at = 0;
        std::vector<char> before;
        std::vector<char> after;
        std::int64_t size_before = 0;
        bool is_truncation = false;
        std::int64_t size_after = 0;
    };

    // For the calls of the layer.
    enum class Call { other, change, write };
    [[nodiscard]] bool befalls(Call call);
    [[nodiscard]] DiskFault fault() const { return fault_; }
    [[nodiscard]] sqlite3_vfs& real() const { return *real_; }
    std::map<std::string, std::vector<Write>>& unflushed() { return unflushed_; }
    std::map<std::string, bool>& new_files() { return new_files_; }

  private:
    sqlite3_vfs* real_;
    sqlite3_vfs own_{};
    DiskFault fault_ = DiskFault::io_error;
    int left_ = 0;  // calls until the fault; 0: none to come
    bool broken_ = false;
    bool happened_ = false;
    std::map<std::string, std::vector<Write>> unflushed_;
    std::map<std::string, bool> new_files_;
};

}  // namespace frayhold::testing
