// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

namespace clockassay {

/// First of begin … end - 1 for which holds(i), true of the first ones, is
/// false; end where it is true of all.
template <class Holds>
std::size_t first_without(std::size_t begin, std::size_t end,
                          const Holds& holds) {
  while (begin < end) {
    const std::size_t middle = begin + (end - begin) / 2;
    if (holds(middle)) {
      begin = middle + 1;
    } else {
      end = middle;
    }
  }
  return begin;
}

}  // namespace clockassay
