// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <sys/mman.h>

#include <cstdlib>
#include <memory>
#include <new>
#include <opencv2/core/mat.hpp>

namespace frayhold::render {

// A picture in memory of large pages, where the kernel grants them: first touching 200 MB of small pages
// takes longer than half a picture's rendering.
class BigPicture {
  public:
    BigPicture(int rows, int columns, int type) {
        constexpr std::size_t page = std::size_t{2} << 20U;
        const std::size_t bytes = static_cast<std::size_t>(rows) * static_cast<std::size_t>(columns) *
                                  static_cast<std::size_t>(CV_ELEM_SIZE(type));
        const std::size_t whole_pages = (bytes + page - 1) / page * page;
        memory_.reset(std::aligned_alloc(page, whole_pages));
        if (!memory_) throw std::bad_alloc();
        // Advice only: small pages hold the picture as well.
        static_cast<void>(madvise(memory_.get(), whole_pages, MADV_HUGEPAGE));
        picture_ = cv::Mat(rows, columns, type, memory_.get());
    }
    [[nodiscard]] cv::Mat& mat() { return picture_; }

  private:
    struct Free {
        void operator()(void* memory) const { std::free(memory); }
    };
    std::unique_ptr<void, Free> memory_;
    cv::Mat picture_;
};

}  // namespace frayhold::render
