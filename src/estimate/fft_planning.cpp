// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/fft_planning.h"

namespace clockassay {

std::mutex& fft_planning() {
  static std::mutex planning;
  return planning;
}

}  // namespace clockassay
