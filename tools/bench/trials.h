// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <atomic>
#include <cstddef>
#include <thread>
#include <type_traits>
#include <vector>

namespace clockassay {

/// What `make` gives for 0 … count - 1, each from its own seed, two at a time.
template <class Make>
auto trials_of(std::size_t count, const Make& make) {
  std::vector<std::invoke_result_t<Make, std::size_t>> trials(count);
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t t = next++; t < count; t = next++) trials[t] = make(t);
  };
  std::thread other(work);
  work();
  other.join();
  return trials;
}

}  // namespace clockassay
