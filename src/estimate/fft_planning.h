// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <mutex>

namespace clockassay {

/// Held while a transform is planned or a plan destroyed: the one part of FFTW
/// that may not run at the same time. Plans are only ever estimated, so that
/// the same input gives the same bits.
std::mutex& fft_planning();

}  // namespace clockassay
