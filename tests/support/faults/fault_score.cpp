// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/faults/fault_score.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace clockassay::faults {
namespace {

bool says(const Cause& cause, const std::string& words) {
  if (words.empty() || cause.cause.find(words) != std::string::npos) {
    return true;
  }
  return std::any_of(
      cause.evidence.begin(), cause.evidence.end(),
      [&](const std::string& e) { return e.find(words) != std::string::npos; });
}

Standing standing_of(const std::vector<Cause>& causes,
                     const ClockTruth& truth) {
  if (causes.empty()) return Standing::kNothing;
  const auto is_true = [&](const Cause& c) { return is_true_cause(c, truth); };
  const auto found = std::find_if(causes.begin(), causes.end(), is_true);
  if (found == causes.end()) return Standing::kOthers;
  if (found->rank == 1) {
    const bool alone =
        std::all_of(causes.begin(), causes.end(),
                    [&](const Cause& c) { return c.rank != 1 || is_true(c); });
    return alone ? Standing::kFirst : Standing::kAmbiguous;
  }
  return found - causes.begin() < 3 ? Standing::kInThree : Standing::kNamed;
}

}  // namespace

bool is_true_cause(const Cause& cause, const ClockTruth& truth) {
  return std::any_of(truth.causes.begin(), truth.causes.end(),
                     [&](const TrueCause& t) {
                       return t.code == cause.code &&
                              (t.ratio.empty() || t.ratio == cause.ratio) &&
                              says(cause, t.names);
                     });
}

ClockScore score(const Verdict& verdict, const ClockTruth& truth) {
  ClockScore result;
  const double error = std::abs(truth.error_ppm);
  if (verdict.decision == Decision::kPass) {
    const double U = verdict.expanded_uncertainty->value();
    result.is_false_pass = error > truth.limit_ppm || truth.must_not_pass;
    result.is_blatant =
        error > truth.limit_ppm + 2.0 * U || truth.must_not_pass;
  }
  result.is_false_fail = verdict.decision == Decision::kFail &&
                         error <= truth.limit_ppm && !truth.must_not_pass;
  result.names_needlessly = truth.causes.empty() && !truth.must_not_pass &&
                            !verdict.causes.empty() && verdict.error &&
                            std::abs(verdict.error->value()) <= truth.limit_ppm;
  const bool is_right_pass =
      verdict.decision == Decision::kPass && !result.is_false_pass;
  if (truth.causes.empty() || is_right_pass) return result;
  result.standing = standing_of(verdict.causes, truth);
  result.at_rank_one = static_cast<std::size_t>(
      std::count_if(verdict.causes.begin(), verdict.causes.end(),
                    [](const Cause& c) { return c.rank == 1; }));
  result.overclaims = !truth.is_tellable && result.at_rank_one == 1;
  return result;
}

ClockScore score(const std::vector<Verdict>& verdicts,
                 const std::vector<ClockTruth>& truth) {
  ClockScore worst;
  for (std::size_t i = 0; i < verdicts.size(); ++i) {
    const ClockScore one = score(verdicts[i], truth[i]);
    worst.standing = std::max(worst.standing, one.standing);
    worst.at_rank_one = std::max(worst.at_rank_one, one.at_rank_one);
    worst.overclaims |= one.overclaims;
    worst.is_false_pass |= one.is_false_pass;
    worst.is_blatant |= one.is_blatant;
    worst.is_false_fail |= one.is_false_fail;
    worst.names_needlessly |= one.names_needlessly;
  }
  return worst;
}

}  // namespace clockassay::faults
