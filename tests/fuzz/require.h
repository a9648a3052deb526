// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdio>
#include <cstdlib>
#include <string>

namespace clockassay {

/// Ends the fuzzer with what is wrong, which is how it learns of it.
[[noreturn]] inline void broken(const std::string& what) {
  std::fprintf(stderr, "FAULT: %s\n", what.c_str());
  std::abort();
}

/// A promise that a fuzzer holds whatever is read to.
inline void require(bool promise, const char* what) {
  if (!promise) broken(what);
}

}  // namespace clockassay
