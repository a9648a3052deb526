// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/reference.h"

#include <cmath>
#include <limits>

#include "clockassay/base/printable.h"
#include "clockassay/base/quantity_text.h"
#include "clockassay/estimate/student_t.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

/// Infinite where a half-width is not positive and finite: that no edge is off
/// says nothing for sure.
double sigma_ppm(double relative_half_width) {
  if (!(relative_half_width > 0.0) || !std::isfinite(relative_half_width)) {
    return std::numeric_limits<double>::infinity();
  }
  return relative_half_width /
         student_t_two_sided(kHalfWidthCoverage, std::nullopt) / kPpm;
}

std::vector<BudgetLine> lines_of(const ReferenceClock& reference,
                                 const ClockRatio& ratio) {
  std::vector<BudgetLine> lines;
  if (ratio.timed_by_reference) {
    lines.push_back(normal_line("sampling and jitter, clock and reference", 'A',
                                Ppm(sigma_ppm(ratio.clock_half_width)),
                                "scatter of the edges timed by the reference"));
  } else {
    lines.push_back(normal_line("sampling and jitter", 'A',
                                Ppm(sigma_ppm(ratio.clock_half_width)),
                                "of the clock, over the reference's time"));
    lines.push_back(normal_line("reference, sampling and jitter", 'A',
                                Ppm(sigma_ppm(ratio.reference_half_width)),
                                "of the reference, over the same time"));
  }
  lines.push_back(rectangular_line(
      "reference, tolerance", reference_tolerance(reference),
      reference.tolerance_ppm ? "stated" : "assumed, nothing stated"));
  return lines;
}

}  // namespace

Result<ReferenceClock> parse_reference(std::string_view text) {
  const std::size_t at = text.rfind('=');
  if (at == std::string_view::npos || at == 0) {
    return failure(ErrorCode::kUsage,
                   "found \"" + printable(text) +
                       "\", expected a channel and its frequency",
                   "for example ref=10MHz±0.1ppm");
  }
  const auto read = parse_frequency_tolerance(text.substr(at + 1));
  if (!read) return tl::unexpected(read.error());
  return ReferenceClock{std::string(text.substr(0, at)), read->frequency_hz,
                        read->tolerance_ppm};
}

Ppm reference_tolerance(const ReferenceClock& reference) {
  return reference.tolerance_ppm ? Ppm(reference.tolerance_ppm->to_double())
                                 : Timebase{}.tolerance;
}

Timebase timebase_by_reference(const ReferenceClock& reference,
                               const FrequencyEstimate& seen) {
  const double ratio =
      reference.frequency_hz.to_double() / seen.frequency.value();
  const double left = seen.half_width / seen.frequency / kPpm;
  return {TimebaseKind::kReference, Ppm((ratio - 1.0) / kPpm),
          ratio * (reference_tolerance(reference) + Ppm(left))};
}

Budget make_budget_against(const ReferenceClock& reference,
                           const FrequencyEstimate& estimate,
                           const ClockRatio& ratio, double coverage) {
  double sigma = sigma_ppm(ratio.clock_half_width);
  if (!ratio.timed_by_reference) {
    sigma = std::hypot(sigma, sigma_ppm(ratio.reference_half_width));
  }
  return combine_budget(estimate,
                        Hertz(reference.frequency_hz.to_double() * ratio.value),
                        {reference_tolerance(reference).value(), sigma},
                        lines_of(reference, ratio), coverage);
}

Budget budget_of_reference(const ReferenceClock& reference,
                           const FrequencyEstimate& seen, double coverage) {
  const Ppm tolerance = reference_tolerance(reference);
  return combine_budget(
      seen, Hertz(reference.frequency_hz.to_double()), {tolerance.value(), 0.0},
      {rectangular_line(
          "reference, tolerance", tolerance,
          reference.tolerance_ppm ? "stated" : "assumed, nothing stated")},
      coverage);
}

}  // namespace clockassay
