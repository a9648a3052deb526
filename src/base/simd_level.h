// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

// Kernels are ordinary loops in one always-inlined function, which is built
// for the plain machine and again for each level below; the compiler does the
// rest. Whole numbers, and doubles that are not contracted, come out the same.
#define CLOCKASSAY_KERNEL [[gnu::always_inline]] inline
#if defined(__x86_64__)
#define CLOCKASSAY_AVX2 [[gnu::target("avx2,bmi,bmi2,lzcnt,popcnt")]]
#else
#define CLOCKASSAY_AVX2
#endif

namespace clockassay {

/// What a processor does at once, in order.
enum class SimdLevel {
  kPlain,  ///< what every machine of its kind can
  kAvx2,   ///< x86-64-v3: 256 bits
};

/// The best that this processor can, but not above what it was limited to.
SimdLevel simd_level();

/// For studies and tests that compare levels; not while anything is running.
void limit_simd_level(SimdLevel most);

}  // namespace clockassay
