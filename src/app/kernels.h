// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/base/result.h"

namespace clockassay {

/// Limits what a processor does at once to what the environment variable
/// CLOCKASSAY_KERNELS allows, "plain", "avx2" or "avx512", if it can as much;
/// results are the same. For studies of speed and for doubts. Errors: kUsage
Result<void> limit_kernels();

}  // namespace clockassay
