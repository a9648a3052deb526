// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "estimate/window_likelihood.h"

namespace clockassay {

/// Whether edges contradict one straight line with white normal jitter, at its
/// most likely: where few sampling phases are met, a handful of edges about two
/// changes of phase tell the slope, and tell it far too well if the frequency
/// stepped or swung between them, or the jitter is not normal. Tests that
/// reach once in 10⁴ each by chance:
/// 1 the score of bends of the line, polynomials of degree 2 to 5;
/// 2 the scores of up to 16 parts in time of equal information, their squares
///   and their running sum.
/// In:     terms  of all edges at the peak
/// Out:    false with less than 32 exact edges' worth of information
/// Source: docs/measurement-model.md#other-than-normal-jitter
bool contradict_line(std::vector<CellTerms> terms);

/// Scores of place of neighbouring edges of one polarity, for a test of whether
/// they are independent: with products p of neighbours' scores the statistic is
/// sum(p)/sqrt(sum(p²)), normal for independent edges, and at most the root of
/// how many products there are.
class NeighbourScores {
 public:
  /// In: score  0 where the edge says nothing; cycles rise within a polarity
  void add(std::int64_t cycle, bool fall, double score);
  double statistic() const;
  /// Beyond four standard deviations: once in 16 000 by chance.
  bool are_dependent() const;

 private:
  struct Last {
    std::int64_t cycle = 0;
    double score = 0.0;
  };
  Last rise_, fall_;
  double sum_ = 0.0, squares_ = 0.0;
};

}  // namespace clockassay
