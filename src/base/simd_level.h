// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

// Kernels are ordinary loops in one always-inlined function, which is built
// for the plain machine and again for each level below; the compiler does the
// rest. Whole numbers, and doubles that are not contracted, come out the same.
#define CLOCKASSAY_KERNEL [[gnu::always_inline]] inline
#if defined(__x86_64__)
#define CLOCKASSAY_AVX2_SET "avx2,bmi,bmi2,lzcnt,popcnt"
#define CLOCKASSAY_AVX512_SET                     \
  CLOCKASSAY_AVX2_SET                             \
  ",avx512f,avx512bw,avx512cd,avx512dq,avx512vl," \
  "avx512vbmi,avx512vbmi2"
#define CLOCKASSAY_AVX2 [[gnu::target(CLOCKASSAY_AVX2_SET)]]
#if defined(__clang__)
#define CLOCKASSAY_AVX512 [[gnu::target(CLOCKASSAY_AVX512_SET)]]
#else
// Loops of the whole width, too, where the compiler would choose half.
#define CLOCKASSAY_AVX512 \
  [[gnu::target(CLOCKASSAY_AVX512_SET ",prefer-vector-width=512")]]
#endif
#else
#define CLOCKASSAY_AVX2
#define CLOCKASSAY_AVX512
#endif

// Defines a function that runs the kernel name_any at the level of this
// processor: returns name(parameters), which hands on the arguments.
#define CLOCKASSAY_AT_LEVEL(returns, name, parameters, arguments) \
  returns name##_plain parameters {                               \
    return name##_any arguments;                                  \
  }                                                               \
  CLOCKASSAY_AVX2 returns name##_avx2 parameters {                \
    return name##_any arguments;                                  \
  }                                                               \
  CLOCKASSAY_AVX512 returns name##_avx512 parameters {            \
    return name##_any arguments;                                  \
  }                                                               \
  returns name parameters {                                       \
    switch (simd_level()) {                                       \
      case SimdLevel::kAvx512:                                    \
        return name##_avx512 arguments;                           \
      case SimdLevel::kAvx2:                                      \
        return name##_avx2 arguments;                             \
      case SimdLevel::kPlain:                                     \
        break;                                                    \
    }                                                             \
    return name##_plain arguments;                                \
  }

namespace clockassay {

/// What a processor does at once, in order.
enum class SimdLevel {
  kPlain,   ///< what every machine of its kind can
  kAvx2,    ///< x86-64-v3: 256 bits
  kAvx512,  ///< x86-64-v4 and VBMI2: 512 bits
};

inline constexpr SimdLevel kSimdLevels[] = {SimdLevel::kPlain, SimdLevel::kAvx2,
                                            SimdLevel::kAvx512};

/// As CLOCKASSAY_KERNELS has it: plain, avx2, avx512.
const char* simd_level_name(SimdLevel level);

/// The best that this processor can, but not above what it was limited to.
SimdLevel simd_level();

/// For studies and tests that compare levels; not while anything is running.
void limit_simd_level(SimdLevel most);

}  // namespace clockassay
