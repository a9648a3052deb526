// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/result.h"
#include "clockassay/base/units.h"

namespace clockassay {

/// The error that the stamp `next` at file offset `byte` comes after the later
/// stamp `before`, for formats that write times in ticks.
Error tick_order_error(Ticks before, Ticks next, std::int64_t byte);

}  // namespace clockassay
