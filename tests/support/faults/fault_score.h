// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "clockassay/verdict/verdict.h"
#include "support/faults/fault_trial.h"

namespace clockassay::faults {

/// Where the truth stands among the causes named; a later one is worse.
enum class Standing {
  kNotAsked,   ///< healthy, or passed and rightly so
  kFirst,      ///< alone at rank 1
  kAmbiguous,  ///< at rank 1, and so are others
  kInThree,    ///< among the first three listed
  kNamed,      ///< further down
  kOthers,     ///< others are named, it is not
  kNothing,    ///< no cause is named
};

struct ClockScore {
  Standing standing = Standing::kNotAsked;
  std::size_t at_rank_one = 0;  ///< causes
  /// One cause alone at rank 1 where the capture cannot tell it from others.
  bool overclaims = false;
  bool is_false_pass = false;  ///< beyond the limit, or not to be passed at all
  /// Of these by more than 2 U, or not to be passed: never.
  bool is_blatant = false;
  bool is_false_fail = false;  ///< of a pin within the limit
  /// Nothing is wrong, nor does it look so, and a cause is named all the same.
  bool names_needlessly = false;
};

bool is_true_cause(const Cause& cause, const ClockTruth& truth);

ClockScore score(const Verdict& verdict, const ClockTruth& truth);

/// The worst of a trial's clocks, and any of what must not be.
ClockScore score(const std::vector<Verdict>& verdicts,
                 const std::vector<ClockTruth>& truth);

}  // namespace clockassay::faults
