// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <dlfcn.h>

#include <cstdlib>

namespace clockassay {

/// A function of a library that is loaded while the program runs. Whoever calls
/// was told before that the library is there: what is missing all the same is a
/// defect, and ends the program.
/// In: library  from dlopen(), or nullptr
template <class Function>
Function* loaded_function(void* library, const char* name) {
  void* found = library != nullptr ? dlsym(library, name) : nullptr;
  if (found == nullptr) std::abort();
  return reinterpret_cast<Function*>(found);
}

}  // namespace clockassay
