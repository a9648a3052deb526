// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/kelvin_text.h"

#include <string>

#include "capture/shown_text.h"
#include "clockassay/base/quantity_text.h"

namespace clockassay {
namespace {

std::string_view without_sign(std::string_view text) {
  for (const std::string_view sign : {"\u00B1", "+-"}) {
    if (text.starts_with(sign)) return text.substr(sign.size());
  }
  return text;
}

}  // namespace

Result<Rational> parse_kelvin_tolerance(std::string_view text) {
  std::string celsius(without_sign(text));
  // A difference is alike in both units.
  const bool in_thousandths = celsius.ends_with("mK");
  if (in_thousandths) celsius.erase(celsius.size() - 2, 1);
  if (celsius.ends_with('K')) celsius.replace(celsius.size() - 1, 1, "degC");
  auto value = parse_temperature(celsius);
  if (value && in_thousandths) value = *divide(*value, Rational(1000));
  constexpr std::int64_t kMost = 50;  // as of u_temperature_c in a series
  if (value && value->sign() >= 0 && *value <= Rational(kMost)) return *value;
  return failure(ErrorCode::kUsage,
                 "found " + shown_text(text) +
                     ", expected a tolerance of temperatures with its unit, "
                     "0 or more and 50K at most",
                 "such as 0.5K or 500mK");
}

}  // namespace clockassay
