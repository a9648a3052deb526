// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>

#include "clockassay/analysis/analyse.h"
#include "clockassay/base/number_text.h"

namespace clockassay {
namespace {

std::string seconds(double value) {
  return number_text(value, 12) + " s";
}

}  // namespace

std::optional<Error> refuse_stretch(const Capture& capture,
                                    const AnalysisOptions& options) {
  if (!options.from_s || *options.from_s == Rational(0)) return std::nullopt;
  const Rational length((capture.last_stamp - capture.first_stamp).count());
  // A start that is no count of ticks is beyond every stamp.
  const auto from = divide(*options.from_s, capture.grid.tick_s);
  if (from && *from < length) return std::nullopt;
  return Error{
      ErrorCode::kBadData,
      "found a stretch asked for from " + seconds(options.from_s->to_double()) +
          " on, expected one that begins within the capture, which is " +
          seconds(length.to_double() * capture.grid.tick_s.to_double()) +
          " long",
      "--from counts from the first stamp on; give an earlier start"};
}

}  // namespace clockassay
