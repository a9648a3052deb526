// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/verdict/cause.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

/// One exact guess at what the board does instead of what is expected.
struct Hypothesis {
  CauseCode code = CauseCode::kOtherSource;
  std::string cause;          ///< in words
  std::string expression;     ///< the clock path it means
  Rational ratio;             ///< measured over intended
  Rational frequency_hz;      ///< what the pin would show
  ToleranceBand source_ppm;   ///< what its source may be off
  int slips = 1;              ///< things that must have gone wrong at once
  bool from_suspect = false;  ///< somebody named its source
  std::string advice;
  std::string settled_by;
};

/// Every suspect on the intended clock path, every neighbour of the path with
/// the expected source, and every suspect on every neighbour of the path.
/// A neighbour beyond exact range is left out: it cannot be a frequency a
/// pin shows. In a fixed order.
std::vector<Hypothesis> make_hypotheses(const ClockSpec& clock,
                                        const std::vector<Suspect>& suspects);

}  // namespace clockassay
