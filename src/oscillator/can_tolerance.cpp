// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/can_tolerance.h"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>

#include "oscillator/exact_number.h"

namespace clockassay {
namespace {

tl::unexpected<Error> refuse_classic(const std::string& why) {
  return failure(ErrorCode::kUsage, "CAN bit timing: " + why,
                 "sjw, tbit, pb1, pb2 all in time quanta or all in seconds, "
                 "for example sjw=1,tbit=16,pb1=5,pb2=4");
}

tl::unexpected<Error> refuse_fd(const std::string& why) {
  return failure(
      ErrorCode::kUsage, "CAN FD bit timing: " + why,
      "all in time quanta of their phase, for example "
      "nsjw=32,ntbit=160,npb1=32,npb2=32,nbrp=1,dsjw=8,dtbit=40,dpb2=8,dbrp=1");
}

tl::unexpected<Error> too_fine() {
  return failure(ErrorCode::kOutOfRange,
                 "CAN bit timing: the tolerance is too fine to be held "
                 "exactly",
                 "use numbers with fewer digits");
}

// Why the timing is none, in words; empty when it is one. `phase` comes before
// each name.
std::string fault_of(const CanBitTiming& timing, const std::string& phase) {
  const std::pair<const char*, Rational> named[] = {{"sjw", timing.sjw},
                                                    {"tbit", timing.tbit},
                                                    {"pb1", timing.pb1},
                                                    {"pb2", timing.pb2}};
  for (const auto& [name, value] : named) {
    if (value.sign() <= 0) {
      return "found " + phase + name + " = " + value.to_string() +
             ", expected more than zero";
    }
  }
  const Rational shorter = std::min(timing.pb1, timing.pb2);
  if (timing.sjw > shorter) {
    return "found " + phase + "sjw = " + timing.sjw.to_string() +
           ", expected at most the shorter phase buffer, " +
           shorter.to_string();
  }
  const std::optional<Rational> buffers = add(timing.pb1, timing.pb2);
  if (!buffers || *buffers >= timing.tbit) {
    return "found " + phase + "pb1 = " + timing.pb1.to_string() + " and " +
           phase + "pb2 = " + timing.pb2.to_string() +
           ", expected a sum below " + phase +
           "tbit = " + timing.tbit.to_string();
  }
  return "";
}

std::string fault_of_data_phase(const CanFdBitTiming& t) {
  const std::pair<const char*, Rational> named[] = {
      {"dsjw", t.data_sjw},
      {"dtbit", t.data_tbit},
      {"dpb2", t.data_pb2},
      {"nbrp", t.nominal_prescaler},
      {"dbrp", t.data_prescaler}};
  for (const auto& [name, value] : named) {
    if (value.sign() > 0) continue;
    return std::string("found ") + name + " = " + value.to_string() +
           ", expected more than zero";
  }
  for (const auto& [name, value] : {named[3], named[4]}) {
    if (value.is_integer()) continue;
    return std::string("found ") + name + " = " + value.to_string() +
           ", expected a whole number of clock periods";
  }
  if (t.data_sjw > t.data_pb2) {
    return "found dsjw = " + t.data_sjw.to_string() +
           ", expected at most dpb2 = " + t.data_pb2.to_string();
  }
  if (t.data_pb2 >= t.data_tbit) {
    return "found dpb2 = " + t.data_pb2.to_string() +
           ", expected less than dtbit = " + t.data_tbit.to_string();
  }
  const auto data_bit = multiply(t.data_tbit, t.data_prescaler);
  const auto nominal_bit = multiply(t.nominal.tbit, t.nominal_prescaler);
  if (data_bit && nominal_bit && *data_bit > *nominal_bit) {
    return "found data bits of " + data_bit->to_string() +
           " clock periods, expected at most the nominal bit's " +
           nominal_bit->to_string() + " (are the phases swapped?)";
  }
  return "";
}

ExactNumber jump_width_limit(const Rational& sjw, const Rational& tbit) {
  return ExactNumber(sjw) / (ExactNumber(20) * tbit);
}

ExactNumber phase_buffer_limit(const CanBitTiming& t) {
  return ExactNumber(std::min(t.pb1, t.pb2)) /
         (ExactNumber(2) * (ExactNumber(13) * t.tbit - t.pb2));
}

// Condition 4: the nominal phase buffers across a switch of the bit rate.
ExactNumber switched_buffer_limit(const CanFdBitTiming& t) {
  const ExactNumber quanta =
      ExactNumber(t.data_prescaler) / t.nominal_prescaler;
  return ExactNumber(std::min(t.nominal.pb1, t.nominal.pb2)) /
         (ExactNumber(2) *
          ((ExactNumber(6) * t.data_tbit - t.data_pb2) * quanta +
           ExactNumber(7) * t.nominal.tbit));
}

// What the switch leaves of the data jump width, in data quanta: the switch is
// known to one nominal quantum only.
ExactNumber data_jump_left(const CanFdBitTiming& t) {
  const ExactNumber quanta =
      ExactNumber(t.nominal_prescaler) / t.data_prescaler;
  return ExactNumber(t.data_sjw) - greater(0, quanta - 1);
}

// Condition 5: the data jump width across a switch of the bit rate.
ExactNumber switched_jump_limit(const CanFdBitTiming& t) {
  const ExactNumber quanta =
      ExactNumber(t.nominal_prescaler) / t.data_prescaler;
  return data_jump_left(t) /
         (ExactNumber(2) *
          ((ExactNumber(2) * t.nominal.tbit - t.nominal.pb2) * quanta +
           t.data_pb2 + ExactNumber(4) * t.data_tbit));
}

}  // namespace

Result<Rational> can_classic_tolerance(const CanBitTiming& timing) {
  const std::string fault = fault_of(timing, "");
  if (!fault.empty()) return refuse_classic(fault);
  const ExactNumber limit =
      ExactNumber(kPpm) * smaller(jump_width_limit(timing.sjw, timing.tbit),
                                  phase_buffer_limit(timing));
  if (!limit.value()) return too_fine();
  return *limit.value();
}

const char* can_fd_condition_name(std::size_t index) {
  constexpr std::array<const char*, kCanFdConditions> kNames = {
      "nominal jump width", "nominal phase buffers", "data jump width",
      "nominal phase buffers across the switch of bit rate",
      "data jump width across the switch of bit rate"};
  return kNames.at(index);
}

Result<CanFdTolerance> can_fd_tolerance(const CanFdBitTiming& timing) {
  std::string fault = fault_of(timing.nominal, "n");
  if (fault.empty()) fault = fault_of_data_phase(timing);
  if (!fault.empty()) return refuse_fd(fault);
  const ExactNumber left = data_jump_left(timing);
  if (left.value() && left.value()->sign() <= 0) {
    return refuse_fd("found dsjw = " + timing.data_sjw.to_string() +
                     ", expected more than nbrp/dbrp - 1: the switch of bit "
                     "rate leaves no tolerance at all");
  }
  const std::array<ExactNumber, kCanFdConditions> conditions = {
      jump_width_limit(timing.nominal.sjw, timing.nominal.tbit),
      phase_buffer_limit(timing.nominal),
      jump_width_limit(timing.data_sjw, timing.data_tbit),
      switched_buffer_limit(timing), switched_jump_limit(timing)};
  CanFdTolerance tolerance;
  for (std::size_t i = 0; i < kCanFdConditions; ++i) {
    const ExactNumber ppm = ExactNumber(kPpm) * conditions[i];
    if (!ppm.value()) return too_fine();
    tolerance.each_ppm[i] = *ppm.value();
    if (tolerance.each_ppm[i] < tolerance.each_ppm[tolerance.strictest]) {
      tolerance.strictest = i;
    }
  }
  return tolerance;
}

}  // namespace clockassay
