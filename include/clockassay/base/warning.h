// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

namespace clockassay {

/// Every caveat a result can carry. The one table is in warning.cpp.
enum class WarningCode {
  kTimebaseAssumed,
  kSamplingNotVisible,
  kSamplingInferred,
  kSamplingContradicted,
  kTextCoarse,
  kTextRounds,
  kSamplingFinerThanSeen,
  kSamplingUnconfirmed,
  kTimescaleMissing,
  kTimescaleOdd,
  kHeaderUnfinished,
  kTruncatedEnd,
  kUndeclaredIds,
  kZeroWidthPulses,
  kUnknownLevels,
  kSamplesMissing,
  kUnusualSyntax,
  kDuplicateNames,
  kColumnsNotRead,
  kOtherTimes,
  kOptionUnused,
  kOptionAgainstFile,
  kThresholdAutomatic,
  kThresholdNotCrossed,
  kThresholdOffCentre,
  kFewEdges,
  kNoEstimate,
  kEdgesRepaired,
  kRepairDoubtful,
  kRepairsRegular,
  kUnevenPeriods,
  kOutputsDisagree,
  kSeveralStretches,
  kClockStopped,
  kUndersampled,
  kNarrowPulses,
  kLockedToSampling,
  kAliasCandidate,
  kSpectralDisagrees,
  kSpectralNotApplicable,
  kWander,
  kDutyMoves,
  kModelContradicted,
  kTimebaseWanders,
  kReferenceAssumed,
  kReferenceCommensurate,
  kReferenceContradicts,
  kReferenceDoubtful,
  kTauLeftOut,
  kFrequencyModulated,
  kBeginsLate,
};

struct WarningInfo {
  WarningCode code;
  const char* name;   ///< as reports print it, such as "timebase_assumed"
  bool forbids_pass;  ///< could flip the result: a verdict may not be pass
  /// About the file's grammar or dialect, not about the clock or the sampling:
  /// who wants nothing of that kind tolerated gets an error instead.
  bool refused_when_strict;
  /// The reading may be at fault rather than the clock: a verdict may not be
  /// fail either.
  bool forbids_fail;
};

/// The row of the table for `code`.
const WarningInfo& warning_info(WarningCode code);

/// One caveat of one result; `message` carries the numbers.
struct Warning {
  WarningCode code;
  std::string message;
};

/// Whether any of them forbids a pass.
bool forbids_pass(const std::vector<Warning>& warnings);
/// Whether any of them forbids a fail.
bool forbids_fail(const std::vector<Warning>& warnings);

}  // namespace clockassay
