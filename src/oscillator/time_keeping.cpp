// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/time_keeping.h"

#include <string>

#include "oscillator/exact_number.h"

namespace clockassay {

Result<Rational> time_keeping_tolerance(const Rational& seconds,
                                        std::int64_t days) {
  constexpr std::int64_t kSecondsPerDay = 86400;
  const ExactNumber ratio =
      ExactNumber(seconds) / (ExactNumber(days) * kSecondsPerDay);
  const ExactNumber ppm = ratio * kPpm;
  if (!ppm.value()) {
    return failure(ErrorCode::kOutOfRange,
                   "time keeping: the limit is too fine to be held exactly",
                   "use a number with fewer digits");
  }
  if (*ppm.value() <= Rational(0) || *ppm.value() >= Rational(kPpm)) {
    return failure(ErrorCode::kUsage,
                   "time keeping: found " + seconds.to_string() +
                       " s to gain or lose in " +
                       std::to_string(days * kSecondsPerDay) +
                       " s, expected more than 0 and less than all of it",
                   "for example per_day=2s");
  }
  return *ppm.value();
}

}  // namespace clockassay
