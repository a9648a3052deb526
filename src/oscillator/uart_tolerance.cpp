// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/uart_tolerance.h"

#include <algorithm>
#include <optional>
#include <string>

#include "clockassay/base/number_text.h"
#include "oscillator/exact_number.h"

namespace clockassay {
namespace {

// What receivers are built with; beyond is a slip of the pen.
constexpr std::int64_t kFewestTicks = 4;
constexpr std::int64_t kMostTicks = 64;
// Start, five data bits, stop; start, nine data bits, parity, two stops.
constexpr std::int64_t kFewestBits = 7;
constexpr std::int64_t kMostBits = 13;

tl::unexpected<Error> refuse(const std::string& why, std::string hint) {
  return failure(ErrorCode::kUsage, "UART: " + why, std::move(hint));
}

tl::unexpected<Error> too_fine() {
  return failure(ErrorCode::kOutOfRange,
                 "UART: the limits are too fine to be held exactly",
                 "use numbers with fewer digits");
}

std::string range_text(const std::string& name, std::int64_t found,
                       std::int64_t low, std::int64_t high) {
  return "found " + name + " = " + std::to_string(found) + ", expected " +
         std::to_string(low) + " to " + std::to_string(high);
}

std::optional<tl::unexpected<Error>> check_sampling(const UartSampling& s) {
  if (s.oversampling < kFewestTicks || s.oversampling > kMostTicks) {
    return refuse(
        range_text("oversampling", s.oversampling, kFewestTicks, kMostTicks),
        "samples the receiver takes a bit, usually 16 or 8");
  }
  if (s.frame_bits < kFewestBits || s.frame_bits > kMostBits) {
    return refuse(
        range_text("frame_bits", s.frame_bits, kFewestBits, kMostBits),
        "start, data, parity and stop bits: 10 for 8N1");
  }
  if (s.first_sample < 2 || s.first_sample > s.oversampling) {
    return refuse(
        range_text("first_sample", s.first_sample, 2, s.oversampling),
        "the first tick a bit is taken from: 8 of 16 for a vote of three");
  }
  if (s.last_sample < s.first_sample || s.last_sample > s.oversampling) {
    return refuse(
        range_text("last_sample", s.last_sample, s.first_sample,
                   s.oversampling),
        "the last tick a bit is taken from: 10 of 16 for a vote of three");
  }
  return std::nullopt;
}

// A divider register has 16 bits, a fraction beyond them at most. Chosen:
// common practice.
constexpr std::int64_t kLargestDivisor = 65536;

// Bit rates of practice that are no whole number: radio teletype and early
// teleprinters. From memory.
constexpr std::int64_t kFractionalHundredths[] = {4545, 5688, 7420, 13450};

// Bits a second, not thousands: 921.6 is a slip of the unit.
std::optional<tl::unexpected<Error>> check_baud(const Rational& baud) {
  if (baud.is_integer()) return std::nullopt;
  for (const std::int64_t hundredths : kFractionalHundredths) {
    if (multiply(baud, 100) == Rational(hundredths)) return std::nullopt;
  }
  constexpr int kDigits = 9;
  return refuse("found baud = " + number_text(baud.to_double(), kDigits) +
                    ", expected a whole number of bits a second, or 45.45, "
                    "56.88, 74.2 or 134.5",
                "did you mean " + number_text(1e3 * baud.to_double(), kDigits) +
                    "? 115200 is 115.2 thousand");
}

std::optional<tl::unexpected<Error>> check_divisor(const UartLink& link) {
  constexpr int kDigits = 9;
  if (link.divisor < Rational(1)) {
    return refuse(
        "found divisor = " + link.divisor.to_string() + ", expected 1 or more",
        "clock periods to a tick of the receiver: a tick is no "
        "shorter than one");
  }
  if (link.divisor > Rational(kLargestDivisor)) {
    return refuse(
        "found divisor = " + number_text(link.divisor.to_double(), kDigits) +
            ", expected at most " + std::to_string(kLargestDivisor) +
            ": dividers have 16 bits",
        "is baud in bits a second, and clock what goes into the "
        "divider?");
  }
  return std::nullopt;
}

// A divisor of another kind than is asked for: the bit rate is nowhere near.
std::optional<tl::unexpected<Error>> check_bit_rate(const UartLink& link,
                                                    const Rational& rate_ppm) {
  constexpr int kHalfPpm = 500000;
  // Of a clock too slow for any divisor it is said elsewhere.
  const bool is_too_slow = link.divisor == Rational(1) && rate_ppm.sign() < 0;
  if (is_too_slow ||
      (rate_ppm <= Rational(kHalfPpm) && rate_ppm >= Rational(-kHalfPpm))) {
    return std::nullopt;
  }
  constexpr int kDigits = 9;
  const double ticks = static_cast<double>(link.sampling.oversampling);
  const double bit =
      link.clock_hz.to_double() / (link.divisor.to_double() * ticks);
  return refuse(
      "found divisor = " + number_text(link.divisor.to_double(), kDigits) +
          ", which makes " + number_text(bit, 6) + " bits a second of " +
          number_text(link.clock_hz.to_double(), kDigits) +
          " Hz, expected baud = " +
          number_text(link.baud.to_double(), kDigits) + " within a half",
      "clock periods to a tick of the receiver, not to a bit: " +
          number_text(
              link.clock_hz.to_double() / (link.baud.to_double() * ticks), 5) +
          " here");
}

std::optional<tl::unexpected<Error>> check_link(const UartLink& link) {
  const std::pair<const char*, Rational> named[] = {
      {"clock", link.clock_hz}, {"baud", link.baud}, {"divisor", link.divisor}};
  for (const auto& [name, value] : named) {
    if (value.sign() > 0) continue;
    return refuse(std::string("found ") + name + " = " + value.to_string() +
                      ", expected more than zero",
                  "for example clock=24MHz,baud=115200,divisor=13");
  }
  if (auto error = check_baud(link.baud)) return error;
  return check_divisor(link);
}

ExactNumber from_ppm(const Rational& ppm) {
  return ExactNumber(1) + ExactNumber(ppm) / kPpm;
}

ExactNumber to_ppm(const ExactNumber& factor) {
  return (factor - 1) * kPpm;
}

std::string percent_text(const Rational& ppm) {
  return number_text(ppm.to_double() / 1e4, 4) + " %";
}

// Even with the smallest divisor only a clock that is faster would do.
tl::unexpected<Error> clock_too_slow(const UartLink& link) {
  const double needed =
      link.baud.to_double() * static_cast<double>(link.sampling.oversampling);
  constexpr int kDigits = 9;
  return refuse(
      "found clock = " + number_text(link.clock_hz.to_double(), kDigits) +
          " Hz, expected baud * oversampling = " +
          number_text(needed, kDigits) +
          " Hz or more, give or take what the link allows: no "
          "divisor is below 1",
      "a faster UART clock, a lower baud, or an oversampling of "
      "fewer ticks");
}

tl::unexpected<Error> nothing_left(const Rational& rate_error_ppm,
                                   const ToleranceBand& far_end) {
  return refuse("the far end's " + percent_text(far_end.low_ppm) + " to " +
                    percent_text(far_end.high_ppm) +
                    " leave nothing to this clock (its divisor is off by " +
                    percent_text(rate_error_ppm) + ")",
                "a far end with a better clock, or a shorter frame");
}

}  // namespace

Result<UartMargin> uart_margin(const UartSampling& s) {
  if (auto error = check_sampling(s)) return *error;
  const ExactNumber whole(
      Rational((s.frame_bits - 1) * s.oversampling + s.last_sample));
  const ExactNumber slow = ExactNumber(s.first_sample - 1) / whole;
  const ExactNumber fast = ExactNumber(s.oversampling - s.last_sample) / whole;
  if (!slow.value() || !fast.value()) return too_fine();
  return UartMargin{*slow.value(), *fast.value()};
}

Result<Rational> nearest_uart_divisor(const Rational& clock_hz,
                                      const Rational& baud,
                                      std::int64_t oversampling) {
  const ExactNumber asked =
      ExactNumber(clock_hz) / (ExactNumber(baud) * oversampling);
  const ExactNumber raised = asked + *Rational::make(1, 2);
  if (!raised.value() || raised.value()->sign() <= 0) return too_fine();
  const auto whole =
      Rational::make(raised.value()->num() / raised.value()->den(), 1);
  if (!whole) return too_fine();
  return std::max(*whole, Rational(1));
}

Result<UartTolerance> uart_tolerance(const UartLink& link) {
  const Result<UartMargin> margin = uart_margin(link.sampling);
  if (!margin) return tl::unexpected<Error>(margin.error());
  if (auto error = check_link(link)) return *error;
  const ExactNumber divisor =
      ExactNumber(link.clock_hz) /
      (ExactNumber(link.divisor) * link.sampling.oversampling * link.baud);
  const ExactNumber slowest = ExactNumber(1) - margin->slow;
  const ExactNumber fastest = ExactNumber(1) + margin->fast;
  const ExactNumber far_low = from_ppm(link.far_end.low_ppm);
  const ExactNumber far_high = from_ppm(link.far_end.high_ppm);
  // Receiving leaves the first of each, sending the second.
  const ExactNumber high =
      to_ppm(smaller(far_low / slowest, fastest * far_low) / divisor);
  const ExactNumber low =
      to_ppm(greater(far_high / fastest, slowest * far_high) / divisor);
  const ExactNumber rate_error = to_ppm(divisor);
  if (!high.value() || !low.value() || !rate_error.value()) return too_fine();
  if (auto error = check_bit_rate(link, *rate_error.value())) return *error;
  if (*low.value() >= *high.value()) {
    return nothing_left(*rate_error.value(), link.far_end);
  }
  if (link.divisor == Rational(1) && low.value()->sign() > 0) {
    return clock_too_slow(link);
  }
  return UartTolerance{{*low.value(), *high.value()}, *rate_error.value()};
}

}  // namespace clockassay
