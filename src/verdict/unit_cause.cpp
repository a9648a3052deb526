// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/unit_cause.h"

#include <cmath>
#include <string>

#include "verdict/wording.h"

namespace clockassay {
namespace {

struct Unit {
  const char* name;
  double hertz;
};

constexpr Unit kUnits[] = {{"kHz", 1e3}, {"MHz", 1e6}, {"GHz", 1e9}};

// About: a clock may be wrong in itself as well. Chosen: half a decade, nearer
// to that unit than to half way to the next.
constexpr double kAbout = 3.2;

bool has_unit(const std::string& frequency) {
  return frequency.find("Hz") != std::string::npos;
}

}  // namespace

std::optional<Cause> unit_missing(const ClockSpec& clock, double measured_hz) {
  const std::string& source = clock.expect.source_text;
  if (has_unit(source)) return std::nullopt;
  const double expected = clock.expect.frequency_hz.to_double();
  for (const Unit& unit : kUnits) {
    const double meant_hz = expected * unit.hertz;
    const double ratio = measured_hz / meant_hz;
    if (ratio > kAbout || ratio < 1.0 / kAbout) continue;
    Cause cause;
    cause.code = CauseCode::kUnitMissing;
    cause.cause = "\"" + source + "\" has no unit and was read as " + source +
                  " Hz; did you mean " + source + unit.name + "?";
    cause.expected = Hertz(meant_hz);
    cause.residual = Ppm((ratio - 1.0) * 1e6);
    cause.evidence.push_back("The pin shows " + hertz_text(measured_hz) +
                             ", about " + number_text(unit.hertz, 10) +
                             " times what is expected.");
    cause.advice =
        "Write the unit with the expected frequency, and judge again.";
    cause.settled_by = "the specification";
    cause.rank = 1;
    return cause;
  }
  return std::nullopt;
}

}  // namespace clockassay
