// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/instrument.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

std::string complaint(const char* json) {
  const auto read = parse_instrument(json);
  REQUIRE_FALSE(read);
  CHECK(read.error().code == ErrorCode::kBadSpec);
  return read.error().message + " | " + read.error().hint;
}

TEST_CASE("parse_timebase: a tolerance is stated, an offset calibrated") {
  const auto stated = parse_timebase("25ppm");
  REQUIRE(stated);
  CHECK(stated->kind == TimebaseKind::kStated);
  CHECK(stated->offset.value() == 0.0);
  CHECK(stated->tolerance.value() == 25.0);
  const auto calibrated = parse_timebase("-12.3ppm±2ppm");
  REQUIRE(calibrated);
  CHECK(calibrated->kind == TimebaseKind::kCalibrated);
  CHECK(calibrated->offset.value() == -12.3);
  CHECK(calibrated->tolerance.value() == 2.0);
  const auto far = parse_timebase("-10%±1ppm");
  REQUIRE_FALSE(far);
  CHECK(far.error().message ==
        "found an offset of 10 % or more, expected less");
}

TEST_CASE("parse_instrument: everything is optional, comments are allowed") {
  const auto none = parse_instrument("{} // nothing");
  REQUIRE(none);
  CHECK_FALSE(none->timebase);
  CHECK_FALSE(none->timebase_stability);
  CHECK_FALSE(none->input_jitter_rms);
  CHECK_FALSE(none->edge_skew);
  CHECK_FALSE(none->reference);
  const auto all = parse_instrument(
      "{ \"timebase\": \"25ppm\", \"timebase_stability\": \"50ppb\",\n"
      "  \"input_jitter_rms\": \"50ps\", \"edge_skew\": \"2ns\",\n"
      "  \"reference\": \"pps=1Hz±10ppb\" }");
  REQUIRE(all);
  CHECK(all->timebase->tolerance.value() == 25.0);
  CHECK(all->timebase_stability->value() == 0.05);
  CHECK(all->input_jitter_rms->value() == 50e-12);
  CHECK(all->edge_skew->value() == 2e-9);
  CHECK(all->reference->channel == "pps");
  CHECK(all->reference->tolerance_ppm == Rational::make(1, 100));
}

TEST_CASE("parse_instrument: what is wrong is said with its path") {
  CHECK(complaint("{\"edge_scew\": \"2ns\"}") ==
        "/edge_scew: unknown key, allowed are timebase, timebase_stability, "
        "input_jitter_rms, edge_skew, reference | did you mean \"edge_skew\"?");
  CHECK(complaint("{\"edge_skew\": 2}") ==
        "/edge_skew: found the number 2, expected text | for example \"2ns\"");
  CHECK(complaint("{\"timebase\": \"\"}") ==
        "/timebase: found empty text, expected for example "
        "\"-12.3ppm±2ppm\" | ");
  CHECK(complaint("{\"timebase_stability\": \"1ppm±1ppm\"}") ==
        "/timebase_stability: found an offset, expected how far the rate "
        "moves | for example 1ppm");
  CHECK(complaint("{\"input_jitter_rms\": \"-1ps\"}") ==
        "/input_jitter_rms: cannot read \"-1ps\" as a time: found a negative "
        "value, expected zero or more | ");
  CHECK(complaint("{\"reference\": \"ref\"}") ==
        "/reference: found \"ref\", expected a channel and its frequency | "
        "for example ref=10MHz±0.1ppm");
  CHECK(complaint("{\"timebase\": \"1ppm\", \"timebase\": \"2ppm\"}") ==
        "the whole document: the key \"timebase\" stands twice | ");
  CHECK(complaint("7") ==
        "the whole document: found the number 7, expected an object | ");
}

}  // namespace
}  // namespace clockassay
