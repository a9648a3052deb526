// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>

namespace clockassay {

/// Runs task(0) … task(count-1), in any order, perhaps at once, and returns
/// when all are done. The rim supplies one with threads; results never depend
/// on the order because every caller writes into its own slot i.
using ParallelFor = std::function<void(
    std::size_t count, const std::function<void(std::size_t)>& task)>;

/// One after the other on the calling thread.
inline void serial_for(std::size_t count,
                       const std::function<void(std::size_t)>& task) {
  for (std::size_t i = 0; i < count; ++i) task(i);
}

}  // namespace clockassay
