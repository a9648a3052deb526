// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/warning.h"

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <iterator>

namespace clockassay {
namespace {

constexpr WarningInfo kWarnings[] = {
    {WarningCode::kTimebaseAssumed, "timebase_assumed", false},
    {WarningCode::kSamplingNotVisible, "sampling_not_visible", true},
    {WarningCode::kSamplingInferred, "sampling_inferred", false},
    {WarningCode::kSamplingContradicted, "sampling_contradicted", true},
    {WarningCode::kTextCoarse, "text_coarse", true},
    {WarningCode::kTextRounds, "text_rounds", false},
    {WarningCode::kSamplingFinerThanSeen, "sampling_finer_than_seen", false},
    {WarningCode::kSamplingUnconfirmed, "sampling_unconfirmed", false},
    {WarningCode::kTimescaleMissing, "timescale_missing", true},
    {WarningCode::kTimescaleOdd, "timescale_odd", false},
    {WarningCode::kHeaderUnfinished, "header_unfinished", false},
    {WarningCode::kTruncatedEnd, "truncated_end", false},
    {WarningCode::kUndeclaredIds, "undeclared_ids", false},
    {WarningCode::kZeroWidthPulses, "zero_width_pulses", true},
    {WarningCode::kUnknownLevels, "unknown_levels", false},
    {WarningCode::kSamplesMissing, "samples_missing", false},
    {WarningCode::kUnusualSyntax, "unusual_syntax", false},
    {WarningCode::kDuplicateNames, "duplicate_names", true},
    {WarningCode::kColumnsNotRead, "columns_not_read", false},
    {WarningCode::kThresholdAutomatic, "threshold_automatic", false},
    {WarningCode::kThresholdNotCrossed, "threshold_not_crossed", true},
    {WarningCode::kFewEdges, "few_edges", true},
    {WarningCode::kNoEstimate, "no_estimate", true},
    {WarningCode::kEdgesRepaired, "edges_repaired", false},
    {WarningCode::kRepairDoubtful, "repair_doubtful", true},
    {WarningCode::kUnevenPeriods, "uneven_periods", true},
    {WarningCode::kSeveralStretches, "several_stretches", true},
    {WarningCode::kClockStopped, "clock_stopped", true},
    {WarningCode::kUndersampled, "undersampled", true},
    {WarningCode::kLockedToSampling, "locked_to_sampling", false},
    {WarningCode::kAliasCandidate, "alias_candidate", true},
    {WarningCode::kSpectralDisagrees, "spectral_check_disagrees", true},
    {WarningCode::kSpectralNotApplicable, "spectral_check_not_applicable",
     false},
    {WarningCode::kWander, "wander", false},
};

// With the test that every code has a row: each has exactly one.
static_assert(std::size(kWarnings) ==
              static_cast<std::size_t>(WarningCode::kWander) + 1);

}  // namespace

const WarningInfo& warning_info(WarningCode code) {
  const auto* row =
      std::find_if(std::begin(kWarnings), std::end(kWarnings),
                   [code](const WarningInfo& w) { return w.code == code; });
  assert(row != std::end(kWarnings));
  return *row;
}

bool forbids_pass(const std::vector<Warning>& warnings) {
  return std::any_of(warnings.begin(), warnings.end(), [](const Warning& w) {
    return warning_info(w.code).forbids_pass;
  });
}

}  // namespace clockassay
