// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <opencv2/core/mat.hpp>

namespace frayhold::photo {

// Gives pictures of 16 MB and more memory on large pages where the system has them, others OpenCV's usual
// memory: on large pages, too, they would take up more than they need. A 12-megapixel frame is 9,000 small
// pages, and a fault at the first touch of each costs more than the picture's turning: in a virtual machine
// more than its decoding. A program that measures many frames may make it OpenCV's default at its start
// (cv::Mat::setDefaultAllocator).
[[nodiscard]] cv::MatAllocator& frame_memory();

// For the start of a program that measures: makes frame_memory OpenCV's default, and has the C library keep
// one heap for all threads, lay its first 192 MB on large pages and keep what was freed, up to a quarter of a
// gigabyte. What lies between two frames is pictures of some megabytes, made and freed by the dozen, mostly
// on threads that live no longer than they do.
void prepare_memory_for_frames();

// An uninitialised picture in such memory.
[[nodiscard]] cv::Mat new_frame(int rows, int columns, int type);

}  // namespace frayhold::photo
