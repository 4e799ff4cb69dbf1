// SPDX-License-Identifier: Apache-2.0
#pragma once

// Before a function: the compiler makes it for AVX2 as well, and which of the two runs is chosen once, by
// what the processor has. Both give the same numbers to the last bit: vectors get longer, no sum changes its
// order and no product is fused with one. For the few loops over millions of values.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__)
#define FRAYHOLD_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define FRAYHOLD_WIDE
#endif
