// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "clockassay/edges/edge_store.h"
#include "estimate/scatter.h"

namespace clockassay {

/// Edges of one polarity that lie alike in their windows, taken as one.
struct LikelihoodCell {
  double k = 0.0;       ///< mean cycle, -1 … 1 over the view
  double y = 0.0;       ///< mean upper end of the window [windows]
  double weight = 0.0;  ///< edges
  bool fall = false;
};

/// A line with white Gaussian jitter.
struct JitterLine {
  double rise = 0.0;  ///< position of the rising edges' line at k = 0 [windows]
  double fall = 0.0;  ///< of the falling edges'
  double slope = 0.0;  ///< windows per unit of k
  double sigma = 0.0;  ///< rms jitter of one edge [windows]
};

/// A largest likelihood and where it is attained.
struct LikelihoodPeak {
  JitterLine line;
  double log = 0.0;
  bool converged = false;
};

/// Derivatives of the logarithm of a cell's likelihood, per edge, by what it is
/// concave in: place in its line and 1/sigma, the former in sigma.
struct CellTerms {
  double k = 0.0;
  double weight = 0.0;
  bool fall = false;
  double place = 0.0, inverse = 0.0;  ///< first derivatives
  /// Minus the second ones.
  double place_place = 0.0, place_inverse = 0.0, inverse_inverse = 0.0;
  double exact = 0.0;  ///< expected -d²/dplace²: edges seen exactly, 0 … 1
};

/// Likelihood of edges that are seen only through windows of length 1.
/// Model:  edge at x = a(polarity) + slope k + e, e normal with rms sigma, seen
///         as y - 1 < x <= y; so ln L = sum ln [Phi((y - x0)/sigma) -
///         Phi((y - 1 - x0)/sigma)], x0 the line. It is concave in
///         (a/sigma, slope/sigma, 1/sigma), as for any interval-censored
///         normal, so that Newton's way up ends at the one peak. Where edges
///         may be another's, Phi - Phi + alien stands for the difference: more
///         than one peak is possible then, and every step goes uphill.
/// Source: J. Burridge, JRSS B 43(1), 1981 (concavity for grouped data);
///         docs/measurement-model.md#likelihood
class WindowLikelihood {
 public:
  /// In: cells, at least one rising; sigma is kept above `least_sigma`; `alien`
  ///     chance that an edge not the clock's lies in a given window and was
  ///     taken for the clock's own.
  WindowLikelihood(std::vector<LikelihoodCell> cells, double least_sigma,
                   double alien = 0.0);

  /// The peak, climbed to from `start` (start.sigma > 0).
  LikelihoodPeak peak(const JitterLine& start) const;
  /// The peak among lines of slope start.slope.
  LikelihoodPeak peak_at_slope(const JitterLine& start) const;
  /// The peak among lines of jitter start.sigma.
  LikelihoodPeak peak_at_sigma(const JitterLine& start) const;

  /// That of the edges of one polarity alone, taken as rising ones.
  WindowLikelihood only(Polarity polarity) const;

  /// Variance of the slope at a peak, from the curvature; absent when the
  /// likelihood does not bend there.
  std::optional<double> slope_variance(const JitterLine& line) const;
  /// The same of sigma.
  std::optional<double> sigma_variance(const JitterLine& line) const;
  /// Information on place that the edges carry at this line, in edges seen
  /// exactly: sigma² times the Fisher information of their place.
  double exact_edges(const JitterLine& line) const;

  /// Score of place and the information it should have, of the cells whose k
  /// lies in one of `parts` equal parts of -1 … 1. [1/windows, 1/windows²]
  std::vector<PartScore> scores(const JitterLine& line,
                                std::size_t parts) const;

  /// What each cell says at this line, but those that say nothing.
  std::vector<CellTerms> terms(const JitterLine& line) const;

 private:
  template <class Basis>
  LikelihoodPeak highest(const JitterLine& start, const Basis& basis) const;
  template <class Direction>
  std::optional<double> variance(const JitterLine& line,
                                 const Direction& answer) const;

  std::vector<LikelihoodCell> cells_;
  double least_sigma_;
  double alien_;
  bool has_fall_ = false;
};

}  // namespace clockassay
