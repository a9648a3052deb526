// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/base/result.h"

namespace clockassay {

/// Loads the plotting library, which nothing but charts needs, so that a start
/// without any does not pay for it. Its functions can be called afterwards.
/// Errors: kCannotCreate when it is not installed
Result<void> have_plotting_library();

}  // namespace clockassay
