// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/verdict/specification.h"

#include <utility>

#include "verdict/requirement_reader.h"

namespace clockassay {
namespace {

tl::unexpected<Error> of_option(const char* option, const Error& error) {
  return failure(ErrorCode::kUsage, std::string(option) + ": " + error.message,
                 error.hint);
}

}  // namespace

bool is_asked_of(const RequirementAsked& asked, const Rational& frequency_hz) {
  return asked.nominal_hz && *asked.nominal_hz == frequency_hz;
}

Result<Specification> specification_from_options(
    std::string_view expect, std::string_view tolerance,
    const std::vector<std::string>& requirements) {
  ClockSpec clock;
  Result<ClockPath> path = parse_clock_path(expect);
  if (!path) return of_option("--expect", path.error());
  clock.expect = *std::move(path);
  clock.name = clock.expect.text;
  const Result<ToleranceBand> make = parse_tolerance(tolerance);
  if (!make) return of_option("--tolerance", make.error());
  clock.tolerance.make = *make;
  for (const std::string& text : requirements) {
    Result<RequirementAsked> asked = read_requirement_option(text);
    if (!asked) return of_option("--requirement", asked.error());
    const auto shown = check_shown(*asked, clock.expect.frequency_hz);
    if (!shown) return of_option("--requirement", shown.error());
    clock.requirements.push_back(*std::move(asked));
  }
  Specification specification;
  specification.clocks.push_back(std::move(clock));
  return specification;
}

}  // namespace clockassay
