// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdio>
#include <cstdlib>

namespace clockassay {

/// A promise that a fuzzer holds whatever is read to: ends it, with a message,
/// where it is broken.
inline void require(bool promise, const char* what) {
  if (promise) return;
  std::fprintf(stderr, "FAULT: %s\n", what);
  std::abort();
}

}  // namespace clockassay
