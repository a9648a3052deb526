// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/heap.h"

#include <malloc.h>

namespace clockassay {

void keep_freed_memory() {
#if defined(__GLIBC__)
  // Chosen: what a piece or the blocks of a long capture need. More comes from
  // the system and goes back to it, so that little lies idle.
  constexpr int kMost = 4 << 20;
  constexpr int kAtOnce = 256 << 10;  // fewer calls at the start
  (void)mallopt(M_MMAP_THRESHOLD, kMost);
  (void)mallopt(M_TRIM_THRESHOLD, 2 * kMost);
  (void)mallopt(M_TOP_PAD, kAtOnce);
#endif
}

}  // namespace clockassay
