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
  if (name == "plain") {
    limit_simd_level(SimdLevel::kPlain);
  } else if (name == "avx2") {
    limit_simd_level(SimdLevel::kAvx2);
  } else {
    return failure(ErrorCode::kUsage,
                   "CLOCKASSAY_KERNELS: found '" + printable(name) +
                       "', expected plain or avx2",
                   "unset it for what is fastest");
  }
  return {};
}

}  // namespace clockassay
