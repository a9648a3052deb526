// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/check_words.h"

#include "clockassay/base/printable.h"
#include "report/number_format.h"

namespace clockassay {
namespace {

/// A figure without an uncertainty; times in a unit of their size.
std::string plain_text(double value, const std::string& unit) {
  constexpr int kDigits = 3;  // chosen: it is compared with a limit
  return unit == "s" ? time_to_digits(value, kDigits)
                     : number_to_digits(value, kDigits) + ' ' + printable(unit);
}

/// A duty, as people say it.
std::string percent_text(double fraction) {
  return number_to_digits(100.0 * fraction, 3) + " %";
}

}  // namespace

std::string deviation_text(const Check& c) {
  if (!c.value) return "";
  if (c.unit == "1") {
    return percent_text(*c.value) + " ± " +
           percent_text(*c.expanded_uncertainty);
  }
  if (c.unit == "s" && c.expanded_uncertainty) {
    return plain_text(*c.value, c.unit) + " ± " +
           plain_text(*c.expanded_uncertainty, c.unit);
  }
  if (!c.expanded_uncertainty) return plain_text(*c.value, c.unit);
  return signed_with_uncertainty(*c.value, *c.expanded_uncertainty,
                                 printable(c.unit));
}

std::string limit_text(const Check& c) {
  const std::string unit = printable(c.unit);
  if (c.unit == "1" && c.low && c.high) {
    return "limit " + percent_text(*c.low) + " to " + percent_text(*c.high);
  }
  if (c.low && c.high) return "limit " + limits(*c.low, *c.high, unit);
  if (c.low) return "at least " + plain_number(*c.low) + ' ' + unit;
  if (c.high && c.unit == "s") {
    return "at most " + plain_text(*c.high, c.unit);
  }
  if (c.high) return "at most " + plain_number(*c.high) + ' ' + unit;
  return "no limit asked";
}

}  // namespace clockassay
