// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <random>
#include <string>
#include <vector>

#include "support/drift_trial.h"

namespace clockassay::testing {

/// What is counted of trials of one kind.
struct DriftCount {
  int trials = 0;
  /// Per temperature of the span, both branches where there are two: how many
  /// bands contain the truth, and how many there were.
  std::vector<int> covered;
  std::vector<int> places;
  int turnovers = 0;  ///< said to be within the span, where the model is right
  int turnovers_covered = 0;  ///< of them, with a true one in their interval
  int model_right = 0;
  int slope_covered = 0;  ///< of the curve at 25 °C, at its stated U
  int worst_covered = 0;  ///< of the worst case over the span, at its U
  int false_pass = 0;     ///< of parts a hundredth of a ppm beyond a limit
  int false_fail = 0;     ///< of parts a hundredth of a ppm within
  int good_pass = 0;  ///< of parts that keep 1.5 ppm and more from the limits
  int marked = 0;     ///< points marked as outliers
};

/// One trial: 25 temperatures over the span, judged at 95 %.
/// In:  degree  of the true curve; 0: none of the models
DriftCount count_trial(const DriftTrial& trial, int degree,
                       std::mt19937_64& random);
DriftCount count_trial(PartScene scene, Trouble trouble,
                       std::mt19937_64& random);
DriftCount sum_of(const std::vector<DriftCount>& counts);

double covered_share(const DriftCount& count);
/// Of the temperature covered least often.
double lowest_share(const DriftCount& count);

/// Head and rows of the tables of docs/drift.md.
std::string table_head();
std::string table_row(const std::string& part, const std::string& trouble,
                      const DriftCount& c);

}  // namespace clockassay::testing
