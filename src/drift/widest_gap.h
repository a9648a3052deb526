// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <vector>

#include "clockassay/drift/choice.h"

namespace clockassay {

/// Between which two neighbouring temperatures most lies; the coldest where
/// several are as wide. Of two or more.
Span widest_gap(std::vector<double> temperatures_c);

/// The same of points.
Span widest_gap(std::span<const DriftPoint> points);

inline double width_of(const Span& span) {
  return span.high_c - span.low_c;
}

}  // namespace clockassay
