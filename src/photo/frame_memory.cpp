// SPDX-License-Identifier: Apache-2.0
#include "photo/frame_memory.h"

#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <memory>
#include <new>
#include <opencv2/core.hpp>

namespace frayhold::photo {
namespace {

constexpr std::size_t large_page_bytes = std::size_t{2} << 20U;  // of x86-64 and of AArch64's usual kernels
constexpr std::size_t least_bytes = std::size_t{16} << 20U;  // smaller ones are better kept and used again

struct Free {
    void operator()(void* block) const { std::free(block); }
};

// Leaves the layout to OpenCV's own allocator, which takes the block as memory lent to it.
class FrameMemory : public cv::MatAllocator {
  public:
    cv::UMatData* allocate(int dims, const int* sizes, int type, void* data, std::size_t* step,
                           cv::AccessFlag access, cv::UMatUsageFlags usage) const override {
        const cv::MatAllocator& usual = *cv::Mat::getStdAllocator();
        std::size_t bytes = CV_ELEM_SIZE(type);
        for (int i = 0; i < dims; ++i) bytes *= static_cast<std::size_t>(sizes[i]);
        if (data != nullptr || bytes < least_bytes)
            return usual.allocate(dims, sizes, type, data, step, access, usage);

        const std::size_t rounded = (bytes + large_page_bytes - 1) / large_page_bytes * large_page_bytes;
        std::unique_ptr<void, Free> block(std::aligned_alloc(large_page_bytes, rounded));
        if (!block) throw std::bad_alloc();
        // Advice only: where it is not taken the memory is as good, only slower to touch.
        static_cast<void>(madvise(block.get(), rounded, MADV_HUGEPAGE));
        cv::UMatData* made = usual.allocate(dims, sizes, type, block.get(), step, access, usage);
        made->prevAllocator = made->currAllocator = this;
        static_cast<void>(block.release());  // freed in deallocate
        return made;
    }

    bool allocate(cv::UMatData* data, cv::AccessFlag access, cv::UMatUsageFlags usage) const override {
        return cv::Mat::getStdAllocator()->allocate(data, access, usage);
    }

    void deallocate(cv::UMatData* data) const override {
        if (data == nullptr) return;
        const std::unique_ptr<void, Free> block(data->origdata);
        cv::Mat::getStdAllocator()->deallocate(data);
    }
};

#ifdef __GLIBC__
// The C library's next piece of heap, all of it untouched yet.
void lay_heap_on_large_pages() {
    const auto end_of_heap = [] { return reinterpret_cast<std::uintptr_t>(sbrk(0)); };
    const std::uintptr_t before = end_of_heap();
    // More than is free of the present piece, so that the next is taken.
    constexpr std::size_t more_bytes = std::size_t{1} << 20U;
    const std::unique_ptr<void, Free> taken(std::malloc(more_bytes));
    const std::uintptr_t from = (before + large_page_bytes - 1) / large_page_bytes * large_page_bytes,
                         to = end_of_heap() / large_page_bytes * large_page_bytes;
    if (from < to)
        static_cast<void>(madvise(reinterpret_cast<void*>(from), to - from, MADV_HUGEPAGE));  // advice only
}
#endif

}  // namespace

cv::MatAllocator& frame_memory() {
    static FrameMemory memory;
    return memory;
}

void prepare_memory_for_frames() {
    cv::Mat::setDefaultAllocator(&frame_memory());
#ifdef __GLIBC__
    constexpr int piece_bytes = 192 << 20, kept_bytes = 256 << 20, least_apart_bytes = 32 << 20;
    static_cast<void>(mallopt(M_MMAP_THRESHOLD, least_apart_bytes));
    static_cast<void>(mallopt(M_TOP_PAD, piece_bytes));
    static_cast<void>(mallopt(M_TRIM_THRESHOLD, kept_bytes));
    static_cast<void>(mallopt(M_ARENA_MAX, 1));
    lay_heap_on_large_pages();
#endif
}

cv::Mat new_frame(int rows, int columns, int type) {
    cv::Mat frame;
    frame.allocator = &frame_memory();
    frame.create(rows, columns, type);
    return frame;
}

}  // namespace frayhold::photo
