// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/simd_level.h"

#include <algorithm>
#include <atomic>

// Its _Bool is no word of C++ to clang.
#if defined(__x86_64__) && !defined(__clang__) && \
    __has_include(<sys/platform/x86.h>)
#include <sys/platform/x86.h>
#endif

namespace clockassay {
namespace {

SimdLevel of_this_processor() {
#if defined(CPU_FEATURE_ACTIVE)
  // What the C library found out at the start. To ask the processor again takes
  // a twentieth of a millisecond where it is a virtual one.
  const bool avx2 = CPU_FEATURE_ACTIVE(AVX2) && CPU_FEATURE_ACTIVE(BMI1) &&
                    CPU_FEATURE_ACTIVE(BMI2);
  if (avx2) return SimdLevel::kAvx2;
#elif defined(__x86_64__)
  const bool avx2 = __builtin_cpu_supports("avx2") &&
                    __builtin_cpu_supports("bmi") &&
                    __builtin_cpu_supports("bmi2");
  if (avx2) return SimdLevel::kAvx2;
#endif
  return SimdLevel::kPlain;
}

std::atomic<SimdLevel>& level() {
  static std::atomic<SimdLevel> value = of_this_processor();
  return value;
}

}  // namespace

SimdLevel simd_level() {
  return level().load(std::memory_order_relaxed);
}

void limit_simd_level(SimdLevel most) {
  level() = std::min(most, of_this_processor());
}

}  // namespace clockassay
