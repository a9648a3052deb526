// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/quantity_text.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// When a receiver looks at a bit: it counts `oversampling` ticks to a bit from
/// the edge that begins the frame, and takes the bit from its ticks
/// `first_sample` … `last_sample`, counted from 1.
struct UartSampling {
  std::int64_t oversampling;
  std::int64_t first_sample;
  std::int64_t last_sample;
  std::int64_t frame_bits;  ///< start, data, parity and the first stop bit
};

/// How far the bits that arrive may be off the receiver's own, as fractions.
struct UartMargin {
  Rational slow;  ///< the sender's rate is at least 1 - slow of the receiver's
  Rational fast;  ///< and at most 1 + fast of it
};

/// With N ticks a bit and n bits a frame, the last bit is taken by tick
/// (n - 1) N + last_sample. A tick passes before the first edge is seen.
/// Model:  slow = (first_sample - 1) / ((n - 1) N + last_sample)
///         fast = (N - last_sample) / ((n - 1) N + last_sample)
/// Errors: kUsage when a number is out of its range, kOutOfRange.
/// Source: as reference manuals of receivers work it out for slow data; fast
///         data by the same count
Result<UartMargin> uart_margin(const UartSampling& sampling);

/// A line between this node and a far end. Both send and receive, and the far
/// end samples as this one does.
struct UartLink {
  Rational clock_hz;  ///< into the divider of this node, as it should be
  Rational baud;      ///< bits a second, as they should be
  Rational divisor;   ///< clock periods to a tick
  UartSampling sampling;
  ToleranceBand far_end;  ///< of its bit rate, all causes
};

/// The whole divisor nearest to what the bit rate asks for, 1 at least.
/// Errors: kOutOfRange.
Result<Rational> nearest_uart_divisor(const Rational& clock_hz,
                                      const Rational& baud,
                                      std::int64_t oversampling);

struct UartTolerance {
  /// What is left to this clock. Of one sign where only a clock that is off
  /// makes good for the divisor.
  ToleranceBand limits_ppm;
  Rational bit_rate_error_ppm;  ///< of the divisor alone
};

/// What the far end and the divisor leave to this node's clock, exactly.
/// Model:  with d the error of the divisor, g of the far end, e of this clock:
///           1 - slow <= (1 + g) / ((1 + d)(1 + e)) <= 1 + fast   receiving
///           1 - slow <= (1 + d)(1 + e) / (1 + g) <= 1 + fast     sending
///         for every g of the far end's band
/// Errors: kUsage for impossible values, a baud that looks like thousands, a
///         divisor beyond 16 bits or off the bit rate by more than half, when
///         nothing is left, and where even a divisor of 1 asks for a faster
///         clock; kOutOfRange.
Result<UartTolerance> uart_tolerance(const UartLink& link);

}  // namespace clockassay
