// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "desk/desk.h"

namespace frayhold::web {

// Desks for many requests at once: a desk serves one thread at a time, and opening one anew for each request
// would cost more than most pages.
class DeskPool {
  public:
    // Makes a desk for a person.
    using Opener = std::function<desk::Desk(const std::string& who)>;

    explicit DeskPool(Opener opener) : opener_(std::move(opener)) {}

    // A desk of that person, given back to the pool when it goes. It must not outlive the pool.
    class Lease {
      public:
        Lease(DeskPool& pool, std::string who, std::unique_ptr<desk::Desk> desk)
            : pool_(&pool), who_(std::move(who)), desk_(std::move(desk)) {}
        ~Lease() {
            if (desk_) pool_->give_back(who_, std::move(desk_));
        }
        Lease(Lease&&) noexcept = default;
        Lease& operator=(Lease&&) = delete;
        Lease(const Lease&) = delete;
        Lease& operator=(const Lease&) = delete;

        [[nodiscard]] desk::Desk& operator*() const { return *desk_; }
        [[nodiscard]] desk::Desk* operator->() const { return desk_.get(); }

      private:
        DeskPool* pool_;
        std::string who_;
        std::unique_ptr<desk::Desk> desk_;
    };

    [[nodiscard]] Lease lend(const std::string& who) {
        {
            const std::lock_guard lock(mutex_);
            auto& idle = idle_[who];
            if (!idle.empty()) {
                auto desk = std::move(idle.back());
                idle.pop_back();
                return Lease(*this, who, std::move(desk));
            }
        }
        return Lease(*this, who, std::make_unique<desk::Desk>(opener_(who)));
    }

  private:
    void give_back(const std::string& who, std::unique_ptr<desk::Desk> desk) {
        const std::lock_guard lock(mutex_);
        idle_[who].push_back(std::move(desk));
    }

    Opener opener_;
    std::mutex mutex_;
    std::map<std::string, std::vector<std::unique_ptr<desk::Desk>>> idle_;
};

}  // namespace frayhold::web
