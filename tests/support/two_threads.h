// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>
#include <thread>

namespace clockassay {

/// A ParallelFor of two threads, every other task each.
inline void two_threads(std::size_t count,
                        const std::function<void(std::size_t)>& task) {
  std::thread other([&] {
    for (std::size_t i = 1; i < count; i += 2) task(i);
  });
  for (std::size_t i = 0; i < count; i += 2) task(i);
  other.join();
}

}  // namespace clockassay
