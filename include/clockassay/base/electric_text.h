// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

// Quantities of a circuit, read as those of quantity_text.h are: exact, with
// the same errors.

/// Ohms: "60ohm", "1.5kohm", "60 Ω"; siemens: "5mS", "300uA/V"; volts: "3.3V",
/// "800mV"; watts: "100uW". Bare numbers are in the unit itself. Zero and
/// negative values are refused.
Result<Rational> parse_resistance(std::string_view text);
Result<Rational> parse_transconductance(std::string_view text);
Result<Rational> parse_voltage(std::string_view text);
Result<Rational> parse_power(std::string_view text);

/// A capacitance and how far it may be off, where that was written.
struct CapacitanceAndTolerance {
  Rational farads;
  std::optional<Rational> tolerance_farads;
};

/// "3pF", "3pF±1pF", "3pF+-500fF"; the tolerance at most the value.
Result<CapacitanceAndTolerance> parse_capacitance_tolerance(
    std::string_view text);

}  // namespace clockassay
