// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The bit timing of a CAN classic node; all four in time quanta or all four
/// in seconds.
struct CanBitTiming {
  Rational sjw;   ///< resynchronisation jump width
  Rational tbit;  ///< nominal bit time
  Rational pb1;   ///< phase buffer segment 1
  Rational pb2;   ///< phase buffer segment 2
};

/// Largest deviation of each node's clock from its nominal, ± ppm, exactly.
/// Model:  df <= sjw / (20 tbit)  and
///         df <= min(pb1, pb2) / (2 (13 tbit - pb2))
/// Errors: kUsage when one is not positive, sjw exceeds min(pb1, pb2), or
///         pb1 + pb2 leave no room in the bit; kOutOfRange.
/// Source: Bosch, CAN Specification 2.0 (1991), oscillator tolerance
Result<Rational> can_classic_tolerance(const CanBitTiming& timing);

/// The bit timings of a CAN FD node, in the time quanta of each phase.
struct CanFdBitTiming {
  CanBitTiming nominal;
  Rational nominal_prescaler;  ///< clock periods in a quantum, whole
  Rational data_sjw;
  Rational data_tbit;
  Rational data_pb2;
  Rational data_prescaler;
};

inline constexpr std::size_t kCanFdConditions = 5;

/// What the condition of that index looks at, such as "nominal phase buffers".
const char* can_fd_condition_name(std::size_t index);

struct CanFdTolerance {
  std::array<Rational, kCanFdConditions> each_ppm;
  std::size_t strictest = 0;
};

/// Largest deviation of each node's clock, ± ppm, exactly: by five conditions,
/// the strictest of which counts. With n and d for the nominal and the data
/// phase, each in its own quanta, and m the prescalers:
///   1  sjw_n / (20 tbit_n)
///   2  min(pb1_n, pb2_n) / (2 (13 tbit_n - pb2_n))
///   3  sjw_d / (20 tbit_d)
///   4  min(pb1_n, pb2_n) / (2 ((6 tbit_d - pb2_d) m_d/m_n + 7 tbit_n))
///   5  (sjw_d - max(0, m_n/m_d - 1)) /
///      (2 ((2 tbit_n - pb2_n) m_n/m_d + pb2_d + 4 tbit_d))
/// Errors: kUsage as above, and for prescalers that are not whole, data bits
///         longer than nominal ones, or no tolerance left by condition 5;
///         kOutOfRange.
/// Source: ISO 11898-1:2015 through public code that implements it; the
///         standard was not opened
Result<CanFdTolerance> can_fd_tolerance(const CanFdBitTiming& timing);

}  // namespace clockassay
