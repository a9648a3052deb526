// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/plan_lines.h"

#include "report/number_format.h"

namespace clockassay {

void say_cautions(PlanKind kind, TextLayout& out) {
  for (const std::string& caution : plan_cautions(kind)) {
    out.labelled("caution", caution);
  }
}

std::string path_hertz(double value) {
  // What no decimal ends is told to a tenth of a ppm.
  constexpr double kPlace = 1e-6;
  const std::string whole = nominal_frequency(value);
  constexpr std::size_t kShort = 13;
  return whole.size() <= kShort ? whole : frequency_to(value, kPlace * value);
}

}  // namespace clockassay
