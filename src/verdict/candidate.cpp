// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/candidate.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "verdict/cause_weight.h"
#include "verdict/wording.h"

namespace clockassay {

Residual residual_of(const Hypothesis& h, double measured_hz,
                     double relative_U_hz) {
  const double f = h.frequency_hz.to_double();
  Residual r;
  r.ppm = (measured_hz - f) / f * 1e6;
  r.U_ppm = relative_U_hz / f * 1e6;
  const double tolerance =
      r.ppm >= 0.0 ? std::max(0.0, h.source_ppm.high_ppm.to_double())
                   : std::max(0.0, -h.source_ppm.low_ppm.to_double());
  r.allowed_ppm = r.U_ppm + tolerance;
  return r;
}

Candidate candidate_of(const Hypothesis& h, const Residual& r,
                       double measured_hz, double source_hz) {
  Candidate c;
  c.facts = {h.code,
             std::max(std::abs(h.source_ppm.low_ppm.to_double()),
                      std::abs(h.source_ppm.high_ppm.to_double())),
             h.factor, h.from_suspect};
  c.slips = h.slips;
  c.from_suspect = h.from_suspect;
  c.exact_hz = h.frequency_hz;
  c.window_ppm = r.allowed_ppm;
  c.residual_windows = std::abs(r.ppm) / r.allowed_ppm;
  c.weight = usual_share(h.code) * window_density(r.allowed_ppm);
  c.cause.code = h.code;
  c.cause.cause = h.cause;
  if (h.ratio != Rational(1)) c.cause.ratio = h.ratio.to_string();
  c.cause.expected = Hertz(h.frequency_hz.to_double());
  c.cause.residual = Ppm(r.ppm);
  c.cause.evidence.push_back(
      h.expression + " gives " + hertz_text(h.frequency_hz.to_double()) +
      "; measured " + hertz_text(measured_hz) + ", " +
      above_or_below(r.ppm, r.U_ppm) + " that. Its source is allowed " +
      band_text(h.source_ppm.low_ppm.to_double(),
                h.source_ppm.high_ppm.to_double()) +
      ", U = " + ppm_text(r.U_ppm, r.U_ppm) + " ppm.");
  c.cause.evidence.push_back(
      "On the intended path the measured frequency means a source of " +
      hertz_text(source_hz) + "; the ratio to the intended one is " +
      h.ratio.to_string() + ".");
  if (!h.seen.empty()) c.cause.evidence.push_back(h.seen);
  c.cause.advice = h.advice;
  c.cause.settled_by = h.settled_by;
  return c;
}

Candidate open_candidate(CauseCode code, double share, double density,
                         const MeasuredError& error, double expected_hz) {
  Candidate c;
  c.facts.code = code;
  c.weight = share * density;
  c.cause.code = code;
  c.cause.expected = Hertz(expected_hz);
  c.cause.residual = Ppm(error.ppm);
  return c;
}

void weigh(const ClockEvidence& evidence, std::vector<Candidate>& candidates) {
  for (Candidate& c : candidates) {
    CauseEvidence weighed = weigh_evidence(c.facts, evidence);
    c.weight *= weighed.factor;
    c.is_usual_load = c.is_usual_load && weighed.factor >= 1.0;
    for (std::string& sentence : weighed.sentences) {
      c.cause.evidence.push_back(std::move(sentence));
    }
  }
}

}  // namespace clockassay
