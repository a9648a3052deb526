// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include "clockassay/analysis/analyse.h"

using namespace clockassay;

namespace {

// 4 ms in ticks of 1 us, from 7 us on.
std::optional<Error> refusal(const std::optional<Rational>& from_s) {
  Capture capture;
  capture.grid.tick_s = *Rational::make(1, 1'000'000);
  capture.first_stamp = Ticks(7);
  capture.last_stamp = Ticks(4007);
  AnalysisOptions options;
  options.from_s = from_s;
  options.span_s = Rational(1);
  return refuse_stretch(capture, options);
}

}  // namespace

TEST_CASE("refuse_stretch: one beyond the end is refused with the length") {
  const auto error = refusal(*Rational::make(5, 1000));
  REQUIRE(error.has_value());
  CHECK(error->code == ErrorCode::kBadData);
  CHECK(error->message ==
        "found a stretch asked for from 0.005 s on, expected one that begins "
        "within the capture, which is 0.004 s long");
  CHECK(error->hint ==
        "--from counts from the first stamp on; give an earlier start");
  // At the very end nothing is left; one tick before there is.
  CHECK(refusal(*Rational::make(4, 1000)).has_value());
  CHECK_FALSE(refusal(*Rational::make(3999, 1'000'000)).has_value());
}

TEST_CASE("refuse_stretch: one that begins at the first stamp never is") {
  CHECK_FALSE(refusal(std::nullopt).has_value());
  CHECK_FALSE(refusal(Rational(0)).has_value());
  Capture instant;  // of no length
  AnalysisOptions options;
  options.from_s = Rational(0);
  CHECK_FALSE(refuse_stretch(instant, options).has_value());
}
