// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/set_up_cause.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "verdict/wording.h"

namespace clockassay {
namespace {

std::string band_of(const ToleranceBand& band) {
  return band_text(band.low_ppm.to_double(), band.high_ppm.to_double());
}

// From nominal to the nearer limit; negative where nominal is outside.
double room_of(const ToleranceBand& limits) {
  return std::min(limits.high_ppm.to_double(), -limits.low_ppm.to_double());
}

// Whether the source may be outside by what is specified of it alone.
bool is_narrower(const ToleranceBand& limits, const ToleranceBand& source) {
  return limits.low_ppm > source.low_ppm || limits.high_ppm < source.high_ppm;
}

std::string divisor_sentence(double error_ppm) {
  return "By the divisor alone the bit rate is " +
         fast_or_slow(error_ppm, std::abs(error_ppm) / 100.0) + ".";
}

Cause cause_of(CauseCode code, const RequirementAsked& asked,
               const std::string& what) {
  Cause cause;
  cause.code = code;
  cause.cause = asked.title + ": " + what;
  cause.rank = 1;
  return cause;
}

Cause divisor_off(const RequirementAsked& asked, double error_ppm) {
  Cause cause =
      cause_of(CauseCode::kDivisorOff, asked,
               "the divisor cannot make this baud rate within what is left");
  cause.evidence.push_back(divisor_sentence(error_ppm));
  cause.evidence.push_back(
      excludes_nominal(*asked.limits_ppm)
          ? "That leaves the clock " + band_of(*asked.limits_ppm) +
                ": one at exactly its nominal frequency fails."
          : "That leaves the clock no more than " + band_of(*asked.limits_ppm) +
                ".");
  cause.advice =
      "Set a fractional divisor, another oversampling, or another UART clock.";
  cause.settled_by =
      "hold the UART's clock over divisor and oversampling against the baud "
      "rate, or measure the length of a bit on the line";
  return cause;
}

Cause too_tight(const RequirementAsked& asked, const ClockSpec& clock,
                double U_ppm) {
  const ToleranceBand& make = clock.tolerance.make;
  const bool by_source = is_narrower(*asked.limits_ppm, make);
  Cause cause =
      cause_of(CauseCode::kSetUpTooTight, asked,
               asked.set_up->name +
                   (by_source ? " leaves less than the source may be off"
                              : " leaves less than U"));
  cause.evidence.push_back("It leaves " + band_of(*asked.limits_ppm) +
                           "; the source is allowed " + band_of(make) +
                           ", and U is " + ppm_text(U_ppm, U_ppm) + " ppm.");
  if (asked.set_up->divisor_error_ppm) {
    cause.evidence.push_back(
        divisor_sentence(asked.set_up->divisor_error_ppm->to_double()));
  }
  cause.advice = asked.set_up->advice;
  cause.settled_by = "work the limit out again with other settings";
  return cause;
}

}  // namespace

bool excludes_nominal(const ToleranceBand& limits) {
  return limits.low_ppm > Rational(0) || limits.high_ppm < Rational(0);
}

std::optional<Cause> set_up_cause(const ClockSpec& clock,
                                  const RequirementAsked& asked,
                                  const MeasuredError& error, bool as_made) {
  if (!asked.set_up || !asked.limits_ppm) return std::nullopt;
  const std::optional<Rational>& divisor = asked.set_up->divisor_error_ppm;
  const double room = room_of(*asked.limits_ppm);
  const bool too_little =
      is_narrower(*asked.limits_ppm, clock.tolerance.make) ||
      room < error.expanded_ppm;
  if (divisor && excludes_nominal(*asked.limits_ppm)) {
    return divisor_off(asked, divisor->to_double());
  }
  // A clock that is off itself is explained by what took it there.
  if (!as_made || !too_little) return std::nullopt;
  // It has taken more than it left.
  if (divisor && std::abs(divisor->to_double()) > room) {
    return divisor_off(asked, divisor->to_double());
  }
  return too_tight(asked, clock, error.expanded_ppm);
}

}  // namespace clockassay
