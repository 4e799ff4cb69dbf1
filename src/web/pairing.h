// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "record/device.h"

namespace frayhold::web {

// The door for phones, as the bench speaks of it.
struct NetDoor {
    std::string address;      // "https://192.168.1.7:8481", without a slash at its end
    std::string fingerprint;  // empty where the door is plain
};

// One-time codes by which a phone becomes a paired device. A code is good for ten minutes, one phone and one
// role; after five wrong ones all codes are void, so that none can be guessed. Safe for several threads.
class Pairing {
  public:
    using Clock = std::chrono::steady_clock;
    static constexpr std::chrono::minutes good_for{10};
    static constexpr int most_wrong = 5;
    // From one address within a minute; a phone that pairs asks some four times.
    static constexpr int most_tries = 20;

    // What a code gives.
    struct Grant {
        std::string path;  // where the phone goes once it is paired
        record::Role role = record::Role::helper;
    };

    // A new code of ten letters and digits.
    [[nodiscard]] std::string new_code(const Grant& grant, Clock::time_point now = Clock::now());

    // Whether that address may still try; each call counts.
    [[nodiscard]] bool may_try(const std::string& from, Clock::time_point now = Clock::now());

    // Whether the code may still be used; a wrong one counts.
    [[nodiscard]] bool is_good(const std::string& code, Clock::time_point now = Clock::now());
    // Uses it up; nothing where it is not good.
    [[nodiscard]] std::optional<Grant> use(const std::string& code, Clock::time_point now = Clock::now());

  private:
    struct Code {
        std::string text;
        Grant grant;
        Clock::time_point until;
    };
    struct Tries {
        Clock::time_point since;
        int count = 0;
    };
    [[nodiscard]] std::vector<Code>::iterator find(const std::string& code, Clock::time_point now);

    std::mutex mutex_;
    std::vector<Code> codes_;
    std::map<std::string, Tries> tries_;  // of the last minute, by address
    int wrong_ = 0;
};

}  // namespace frayhold::web
