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
                    CPU_FEATURE_ACTIVE(BMI2) && CPU_FEATURE_ACTIVE(LZCNT) &&
                    CPU_FEATURE_ACTIVE(POPCNT);
  const bool avx512 =
      CPU_FEATURE_ACTIVE(AVX512F) && CPU_FEATURE_ACTIVE(AVX512BW) &&
      CPU_FEATURE_ACTIVE(AVX512CD) && CPU_FEATURE_ACTIVE(AVX512DQ) &&
      CPU_FEATURE_ACTIVE(AVX512VL) && CPU_FEATURE_ACTIVE(AVX512_VBMI) &&
      CPU_FEATURE_ACTIVE(AVX512_VBMI2);
  if (avx2) return avx512 ? SimdLevel::kAvx512 : SimdLevel::kAvx2;
#elif defined(__x86_64__)
  const bool avx2 =
      __builtin_cpu_supports("avx2") && __builtin_cpu_supports("bmi") &&
      __builtin_cpu_supports("bmi2") && __builtin_cpu_supports("popcnt");
  const bool avx512 = __builtin_cpu_supports("avx512f") &&
                      __builtin_cpu_supports("avx512bw") &&
                      __builtin_cpu_supports("avx512cd") &&
                      __builtin_cpu_supports("avx512dq") &&
                      __builtin_cpu_supports("avx512vl") &&
                      __builtin_cpu_supports("avx512vbmi") &&
                      __builtin_cpu_supports("avx512vbmi2");
  if (avx2) return avx512 ? SimdLevel::kAvx512 : SimdLevel::kAvx2;
#endif
  return SimdLevel::kPlain;
}

std::atomic<SimdLevel>& level() {
  static std::atomic<SimdLevel> value = of_this_processor();
  return value;
}

}  // namespace

const char* simd_level_name(SimdLevel level) {
  switch (level) {
    case SimdLevel::kAvx512:
      return "avx512";
    case SimdLevel::kAvx2:
      return "avx2";
    case SimdLevel::kPlain:
      break;
  }
  return "plain";
}

SimdLevel simd_level() {
  return level().load(std::memory_order_relaxed);
}

void limit_simd_level(SimdLevel most) {
  level() = std::min(most, of_this_processor());
}

}  // namespace clockassay
