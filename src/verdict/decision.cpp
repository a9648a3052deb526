// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

const char* decision_name(Decision decision) {
  switch (decision) {
    case Decision::kPass:
      return "pass";
    case Decision::kUndecided:
      return "undecided";
    case Decision::kFail:
      return "fail";
  }
  return "undecided";
}

Decision decide(double e, double U, double low, double high) {
  // Anything that is not a number, not bounded, or claims certainty is a
  // question that cannot be answered.
  if (!std::isfinite(e) || !std::isfinite(U) || !std::isfinite(low) ||
      !std::isfinite(high) || !(U > 0.0) || low > high) {
    return Decision::kUndecided;
  }
  if (e - U > high || e + U < low) return Decision::kFail;
  if (e - U >= low && e + U <= high) return Decision::kPass;
  return Decision::kUndecided;
}

}  // namespace clockassay
