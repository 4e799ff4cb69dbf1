// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

namespace frayhold::web {

// One-time codes by which a phone becomes a paired device. A code is good for ten minutes and for one phone;
// after five wrong ones all codes are void, so that none can be guessed. Safe for several threads.
class Pairing {
  public:
    using Clock = std::chrono::steady_clock;
    static constexpr std::chrono::minutes good_for{10};
    static constexpr int most_wrong = 5;

    // A new code of ten letters and digits; `path` is where the phone goes once it is paired.
    [[nodiscard]] std::string new_code(const std::string& path, Clock::time_point now = Clock::now());

    // Whether the code may still be used; a wrong one counts.
    [[nodiscard]] bool is_good(const std::string& code, Clock::time_point now = Clock::now());
    // Uses it up and gives its path; nothing where it is not good.
    [[nodiscard]] std::optional<std::string> use(const std::string& code,
                                                 Clock::time_point now = Clock::now());

  private:
    struct Code {
        std::string text;
        std::string path;
        Clock::time_point until;
    };
    [[nodiscard]] std::vector<Code>::iterator find(const std::string& code, Clock::time_point now);

    std::mutex mutex_;
    std::vector<Code> codes_;
    int wrong_ = 0;
};

}  // namespace frayhold::web
