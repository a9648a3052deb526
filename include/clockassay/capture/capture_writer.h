// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>
#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/capture/simulated_clock.h"

namespace clockassay {

/// Takes the next part of a text being written. False: stop, it cannot be.
using TextSink = std::function<bool(std::string_view)>;

/// Write a simulated capture the way instruments do; the same input gives the
/// same bytes. `name` is the channel's; the text comes in parts of about
/// 64 KiB, in bounded memory.
/// CSV:    a row per change, a first row at time 0 and a last one at the last
///         sample; times in seconds with every decimal, or rounded to 1 ps
///         where the sample interval has more than 15 decimals.
/// VCD:    the timescale is the coarsest of 1, 10, 100 fs … s that divides the
///         sample interval; where none does, 1 ps and rounded stamps.
/// Both state the sample rate in a comment if it is a finite decimal.
/// Errors: kUsage for a name the format cannot hold, a sample interval shorter
///         than 2 ps that would have to be rounded; kWriteFailed when the sink
///         says stop.
Result<void> write_csv(const SimulatedCapture& capture, std::string_view name,
                       const TextSink& sink);
Result<void> write_vcd(const SimulatedCapture& capture, std::string_view name,
                       const TextSink& sink);

/// The same as one string.
Result<std::string> csv_text(const SimulatedCapture& capture,
                             std::string_view name);
Result<std::string> vcd_text(const SimulatedCapture& capture,
                             std::string_view name);

}  // namespace clockassay
