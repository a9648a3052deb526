// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/requirements.h"

#include <algorithm>
#include <array>
#include <iterator>
#include <string>
#include <utility>

#include "clockassay/base/nearest_name.h"
#include "requirement_table.h"

namespace clockassay {
namespace {

tl::unexpected<Error> refuse_timing(const std::string& why) {
  return failure(ErrorCode::kUsage, "CAN bit timing: " + why,
                 "sjw, tbit, pb1, pb2 all in time quanta or all in seconds, "
                 "for example sjw=1,tbit=16,pb1=5,pb2=4");
}

// Why the timing is none; nullopt when it is one.
std::optional<tl::unexpected<Error>> check_timing(const CanBitTiming& timing) {
  const std::pair<const char*, Rational> named[] = {{"sjw", timing.sjw},
                                                    {"tbit", timing.tbit},
                                                    {"pb1", timing.pb1},
                                                    {"pb2", timing.pb2}};
  for (const auto& [name, value] : named) {
    if (value.sign() <= 0) {
      return refuse_timing(std::string("found ") + name + " = " +
                           value.to_string() + ", expected more than zero");
    }
  }
  const Rational shorter = std::min(timing.pb1, timing.pb2);
  if (timing.sjw > shorter) {
    return refuse_timing("found sjw = " + timing.sjw.to_string() +
                         ", expected at most the shorter phase buffer, " +
                         shorter.to_string());
  }
  const std::optional<Rational> buffers = add(timing.pb1, timing.pb2);
  if (!buffers || *buffers >= timing.tbit) {
    return refuse_timing(
        "found pb1 = " + timing.pb1.to_string() +
        " and pb2 = " + timing.pb2.to_string() +
        ", expected a sum below tbit = " + timing.tbit.to_string());
  }
  return std::nullopt;
}

std::optional<Rational> jump_width_limit(const CanBitTiming& timing) {
  const std::optional<Rational> ratio = divide(timing.sjw, timing.tbit);
  return ratio ? divide(*ratio, 20) : std::nullopt;
}

std::optional<Rational> phase_buffer_limit(const CanBitTiming& timing) {
  const std::optional<Rational> thirteen_bits = multiply(timing.tbit, 13);
  if (!thirteen_bits) return std::nullopt;
  const std::optional<Rational> span = subtract(*thirteen_bits, timing.pb2);
  if (!span) return std::nullopt;
  const std::optional<Rational> ratio =
      divide(std::min(timing.pb1, timing.pb2), *span);
  return ratio ? divide(*ratio, 2) : std::nullopt;
}

}  // namespace

const char* known_by_name(KnownBy known_by) {
  switch (known_by) {
    case KnownBy::kQuotation:
      return "quotation";
    case KnownBy::kSecondary:
      return "secondary";
    case KnownBy::kDataSheet:
      return "data_sheet";
    case KnownBy::kDerived:
      return "derived";
    case KnownBy::kMemory:
      return "memory";
  }
  return "memory";
}

std::span<const Requirement> requirements() {
  return kRequirementTable;
}

const Requirement* find_requirement(std::string_view id) {
  const auto* row =
      std::find_if(std::begin(kRequirementTable), std::end(kRequirementTable),
                   [id](const Requirement& r) { return r.id == id; });
  return row == std::end(kRequirementTable) ? nullptr : row;
}

std::string_view nearest_requirement_id(std::string_view text) {
  std::array<std::string_view, std::size(kRequirementTable)> ids;
  std::transform(std::begin(kRequirementTable), std::end(kRequirementTable),
                 ids.begin(), [](const Requirement& r) { return r.id; });
  return nearest_name(text, ids);
}

Result<Rational> can_classic_tolerance(const CanBitTiming& timing) {
  if (auto error = check_timing(timing)) return *error;
  constexpr std::int64_t kPpm = 1000000;  // parts per million in one
  const std::optional<Rational> jump = jump_width_limit(timing);
  const std::optional<Rational> phase = phase_buffer_limit(timing);
  std::optional<Rational> limit;
  if (jump && phase) limit = multiply(std::min(*jump, *phase), kPpm);
  if (!limit) {
    return failure(ErrorCode::kOutOfRange,
                   "CAN bit timing: the tolerance is too fine to be held "
                   "exactly",
                   "use numbers with fewer digits");
  }
  return *limit;
}

}  // namespace clockassay
