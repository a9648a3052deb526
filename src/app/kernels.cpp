// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/kernels.h"

#include <cstdlib>
#include <string>
#include <string_view>

#include "base/simd_level.h"
#include "clockassay/base/printable.h"

namespace clockassay {

Result<void> limit_kernels() {
  const char* asked = std::getenv("CLOCKASSAY_KERNELS");
  if (asked == nullptr || *asked == '\0') return {};
  const std::string_view name = asked;
  for (const SimdLevel level : kSimdLevels) {
    if (name != simd_level_name(level)) continue;
    limit_simd_level(level);
    return {};
  }
  return failure(ErrorCode::kUsage,
                 "CLOCKASSAY_KERNELS: found '" + printable(name) +
                     "', expected plain, avx2 or avx512",
                 "unset it for what is fastest");
}

}  // namespace clockassay
