// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/uncertainty/error_distribution.h"
#include "clockassay/uncertainty/timebase.h"

namespace clockassay {

/// One line of an uncertainty budget (JCGM 100), relative to the frequency.
struct BudgetLine {
  std::string name;
  char type = 'B';           ///< 'A' from statistics, 'B' otherwise
  std::string distribution;  ///< "normal", "rectangular"
  Ppm standard_uncertainty{0.0};
  std::optional<double> dof;  ///< absent: infinite
  std::string source;
};

/// A frequency with its uncertainty. `coverage_factor` is absent where the
/// half-width is not a multiple of the standard uncertainty.
struct FrequencyResult {
  Hertz value;
  Hertz standard_uncertainty;
  Hertz expanded_uncertainty;
  std::optional<double> coverage_factor;
  double coverage = 0.95;
};

struct Budget {
  FrequencyResult relative_to_timebase;  ///< the capture alone
  FrequencyResult frequency;             ///< with the timebase, offset applied
  ErrorDistribution error_ppm;           ///< of `frequency`, relative, in ppm
  Ppm expanded_ppm{0.0};                 ///< U of `frequency`
  Ppm expanded_capture_ppm{0.0};         ///< U of `relative_to_timebase`
  std::vector<BudgetLine> lines;
};

/// Combines what the capture leaves open with what the timebase leaves open.
/// Model:  f = f_indicated * (1 + offset + r),  r rectangular within the
///         timebase's tolerance; f_indicated normal with the standard
///         deviation half_width / 1.96: wide, never zero.
/// In:     frequency > 0; coverage in (0, 1).
/// Out:    ppm are of the frequency itself. A half-width that is not positive
///         and finite is a defect of its maker: it gives infinite
///         uncertainties, which no verdict passes, never zero ones.
/// Source: docs/uncertainty.md#the-budget
Budget make_budget(const FrequencyEstimate& estimate, const Timebase& timebase,
                   double coverage);

BudgetLine normal_line(std::string name, char type, Ppm standard_uncertainty,
                       std::string source);
BudgetLine rectangular_line(std::string name, Ppm half_width,
                            std::string source);

/// A budget from its parts.
/// In:     estimate  what the capture alone says; frequency, its error and the
///         lines that make it, whatever brought it to true time
/// Out:    as make_budget()
Budget combine_budget(const FrequencyEstimate& estimate, Hertz frequency,
                      const ErrorDistribution& error_ppm,
                      std::vector<BudgetLine> lines, double coverage);

}  // namespace clockassay
