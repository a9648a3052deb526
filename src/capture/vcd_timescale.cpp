// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_timescale.h"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>

#include "capture/shown_text.h"
#include "clockassay/base/decimal.h"

namespace clockassay {
namespace {

struct Unit {
  std::string_view name;
  std::int64_t per_second;
};

// IEEE 1364-2005, 18.2.3.5.
constexpr Unit kUnits[] = {{"s", 1},
                           {"ms", 1'000},
                           {"us", 1'000'000},
                           {"ns", 1'000'000'000},
                           {"ps", 1'000'000'000'000},
                           {"fs", 1'000'000'000'000'000}};

std::optional<Rational> unit_in_seconds(std::string_view name) {
  for (const Unit& unit : kUnits) {
    if (unit.name == name) return Rational::make(1, unit.per_second);
  }
  return std::nullopt;
}

}  // namespace

Result<VcdTimescale> parse_vcd_timescale(std::string_view text) {
  const std::size_t letter = text.find_first_not_of("0123456789.+-");
  const std::string_view number = text.substr(0, letter);
  const auto value = parse_decimal(number);
  const auto unit = letter == std::string_view::npos
                        ? std::nullopt
                        : unit_in_seconds(text.substr(letter));
  const auto tick =
      value && unit ? multiply(value->value, *unit) : std::nullopt;
  if (!tick || tick->sign() <= 0) {
    return failure(ErrorCode::kBadData,
                   "found timescale " + shown_text(text) +
                       ", expected 1, 10 or 100 and one of s, ms, us, ns, ps, "
                       "fs",
                   "correct the $timescale");
  }
  const bool usual = number == "1" || number == "10" || number == "100";
  return VcdTimescale{*tick, !usual};
}

}  // namespace clockassay
