// SPDX-License-Identifier: Apache-2.0
#include "web/pairing.h"

#include <string_view>

#include "web/gate.h"

namespace frayhold::web {

std::string Pairing::new_code(const Grant& grant, Clock::time_point now) {
    // Without letters and digits that look alike; 32 signs, so that each takes five bits of a byte evenly.
    constexpr std::string_view signs = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
    constexpr std::size_t length = 10;
    const std::string random = new_secret();
    std::string text;
    for (std::size_t i = 0; i < length; ++i)
        text += signs[std::stoul(random.substr(2 * i, 2), nullptr, 16) % signs.size()];
    const std::lock_guard lock(mutex_);
    wrong_ = 0;
    std::erase_if(codes_, [&](const Code& code) { return code.until <= now; });
    codes_.push_back({text, grant, now + good_for});
    return text;
}

bool Pairing::may_try(const std::string& from, Clock::time_point now) {
    const std::lock_guard lock(mutex_);
    std::erase_if(tries_,
                  [&](const auto& entry) { return entry.second.since + std::chrono::minutes(1) <= now; });
    Tries& tries = tries_.try_emplace(from, Tries{now, 0}).first->second;
    return ++tries.count <= most_tries;
}

std::vector<Pairing::Code>::iterator Pairing::find(const std::string& code, Clock::time_point now) {
    for (auto at = codes_.begin(); at != codes_.end(); ++at)
        if (at->until > now && same_secret(at->text, code)) return at;
    if (++wrong_ >= most_wrong) codes_.clear();
    return codes_.end();
}

bool Pairing::is_good(const std::string& code, Clock::time_point now) {
    const std::lock_guard lock(mutex_);
    const auto found = find(code, now);  // may change where the list ends
    return found != codes_.end();
}

std::optional<Pairing::Grant> Pairing::use(const std::string& code, Clock::time_point now) {
    const std::lock_guard lock(mutex_);
    const auto found = find(code, now);
    if (found == codes_.end()) return std::nullopt;
    Grant grant = found->grant;
    codes_.erase(found);
    return grant;
}

}  // namespace frayhold::web
