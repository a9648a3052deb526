// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/warning.h"

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <iterator>

namespace clockassay {
namespace {

// Code, name; whether it forbids a pass; whether --strict refuses it; whether
// it forbids a fail.
constexpr WarningInfo kWarnings[] = {
    {WarningCode::kTimebaseAssumed, "timebase_assumed", false, false, false},
    {WarningCode::kSamplingNotVisible, "sampling_not_visible", true, false,
     false},
    {WarningCode::kSamplingInferred, "sampling_inferred", false, false, false},
    {WarningCode::kSamplingContradicted, "sampling_contradicted", true, true,
     true},
    {WarningCode::kTextCoarse, "text_coarse", true, false, true},
    {WarningCode::kTextRounds, "text_rounds", false, false, false},
    {WarningCode::kSamplingFinerThanSeen, "sampling_finer_than_seen", false,
     false, false},
    {WarningCode::kSamplingUnconfirmed, "sampling_unconfirmed", false, false,
     false},
    {WarningCode::kTimescaleMissing, "timescale_missing", true, true, true},
    {WarningCode::kTimescaleOdd, "timescale_odd", false, true, false},
    {WarningCode::kHeaderUnfinished, "header_unfinished", false, true, false},
    {WarningCode::kTruncatedEnd, "truncated_end", false, true, false},
    {WarningCode::kUndeclaredIds, "undeclared_ids", false, true, false},
    {WarningCode::kZeroWidthPulses, "zero_width_pulses", true, false, false},
    {WarningCode::kUnknownLevels, "unknown_levels", false, false, false},
    {WarningCode::kSamplesMissing, "samples_missing", false, false, false},
    {WarningCode::kUnusualSyntax, "unusual_syntax", false, true, false},
    {WarningCode::kDuplicateNames, "duplicate_names", true, true, true},
    {WarningCode::kColumnsNotRead, "columns_not_read", false, true, false},
    {WarningCode::kOtherTimes, "other_times", true, true, true},
    {WarningCode::kOptionUnused, "option_unused", false, false, false},
    {WarningCode::kOptionAgainstFile, "option_against_file", false, false,
     false},
    {WarningCode::kThresholdAutomatic, "threshold_automatic", false, false,
     false},
    {WarningCode::kThresholdNotCrossed, "threshold_not_crossed", true, false,
     true},
    {WarningCode::kThresholdOffCentre, "threshold_off_centre", true, false,
     true},
    {WarningCode::kFewEdges, "few_edges", true, false, false},
    {WarningCode::kNoEstimate, "no_estimate", true, false, false},
    {WarningCode::kEdgesRepaired, "edges_repaired", false, false, false},
    {WarningCode::kRepairDoubtful, "repair_doubtful", true, false, true},
    {WarningCode::kRepairsRegular, "repairs_regular", true, false, true},
    {WarningCode::kUnevenPeriods, "uneven_periods", true, false, false},
    {WarningCode::kOutputsDisagree, "outputs_disagree", true, false, false},
    {WarningCode::kSeveralStretches, "several_stretches", true, false, false},
    {WarningCode::kClockStopped, "clock_stopped", true, false, false},
    {WarningCode::kUndersampled, "undersampled", true, false, false},
    {WarningCode::kNarrowPulses, "narrow_pulses", true, false, true},
    {WarningCode::kLockedToSampling, "locked_to_sampling", false, false, false},
    {WarningCode::kAliasCandidate, "alias_candidate", true, false, false},
    {WarningCode::kSpectralDisagrees, "spectral_check_disagrees", true, false,
     true},
    {WarningCode::kSpectralNotApplicable, "spectral_check_not_applicable",
     false, false, false},
    {WarningCode::kWander, "wander", false, false, false},
    {WarningCode::kDutyMoves, "duty_moves", false, false, false},
    {WarningCode::kModelContradicted, "model_contradicted", false, false,
     false},
    {WarningCode::kTimebaseWanders, "timebase_wanders", false, false, false},
    {WarningCode::kReferenceAssumed, "reference_assumed", false, false, false},
    {WarningCode::kReferenceCommensurate, "reference_commensurate", false,
     false, false},
    {WarningCode::kReferenceContradicts, "reference_contradicts", true, false,
     true},
    {WarningCode::kReferenceDoubtful, "reference_doubtful", true, false, true},
    {WarningCode::kTauLeftOut, "tau_left_out", false, false, false},
    {WarningCode::kFrequencyModulated, "frequency_modulated", true, false,
     false},
    {WarningCode::kBeginsLate, "begins_late", false, false, false},
};

// With the test that every code has a row: each has exactly one.
static_assert(std::size(kWarnings) ==
              static_cast<std::size_t>(WarningCode::kBeginsLate) + 1);

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

bool forbids_fail(const std::vector<Warning>& warnings) {
  return std::any_of(warnings.begin(), warnings.end(), [](const Warning& w) {
    return warning_info(w.code).forbids_fail;
  });
}

}  // namespace clockassay
