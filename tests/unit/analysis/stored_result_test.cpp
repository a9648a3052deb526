// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/stored_result.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "support/approx.h"

using namespace clockassay;
using nlohmann::json;

namespace {

// As the schema has it, as far as it is read.
json stored() {
  const json frequency = {{"value_hz", 1000.01}};
  const json budget = json::array(
      {{{"distribution", "normal"}, {"standard_uncertainty_ppm", 0.3}},
       {{"distribution", "normal"}, {"standard_uncertainty_ppm", 0.4}},
       {{"distribution", "rectangular"}, {"standard_uncertainty_ppm", 1.0}}});
  const json warning = {{"code", "wander"},
                        {"message", "it wanders"},
                        {"forbids_pass", false},
                        {"forbids_fail", false}};
  const json channel = {{"name", "clk"},
                        {"frequency", frequency},
                        {"relative_to_timebase", {{"value_hz", 1000.0}}},
                        {"budget", budget},
                        {"warnings", json::array({warning})}};
  const json capture = {{"path", "a.csv"},
                        {"channels", json::array({channel})},
                        {"idle_channels", json::array({{{"name", "led"}}})},
                        {"warnings", json::array()}};
  return {
      {"schema", "clockassay/1"},
      {"command", "measure"},
      {"timebase",
       {{"kind", "calibrated"}, {"offset_ppm", 10.0}, {"tolerance_ppm", 2.0}}},
      {"captures", json::array({capture})},
      {"errors", json::array()}};
}

std::string refusal(const json& tree) {
  const auto read = parse_stored_result(tree.dump());
  if (read) return "read";
  CHECK(read.error().code == ErrorCode::kBadData);
  CHECK_FALSE(read.error().hint.empty());
  return read.error().message;
}

}  // namespace

TEST_CASE("parse_stored_result: frequency, its parts and its warnings") {
  const auto read = parse_stored_result(stored().dump());
  REQUIRE(read);
  CHECK(read->capture == "a.csv");
  CHECK(read->idle == std::vector<std::string>{"led"});
  REQUIRE(read->clocks.size() == 1);
  const StoredClock& clock = read->clocks.front();
  CHECK(clock.channel == "clk");
  CHECK(clock.frequency.value() == 1000.01);
  CHECK(clock.indicated.value() == 1000.0);
  // 0.3 and 0.4 in squares; a half-width is sqrt(3) standard uncertainties.
  CHECK(clock.u.value() == testing::approx(0.5));
  CHECK(clock.half_width.value() == testing::approx(1.7320508));
  CHECK(clock.timebase.kind == TimebaseKind::kCalibrated);
  CHECK(clock.timebase.tolerance.value() == 2.0);
  REQUIRE(clock.warnings.size() == 1);
  CHECK(clock.warnings.front().code == "wander");
}

TEST_CASE("parse_stored_result: a reference channel is no clock of it") {
  json tree = stored();
  tree["captures"][0]["channels"][0]["is_reference"] = true;
  tree["captures"][0]["reference"] = {
      {"timebase",
       {{"kind", "reference"}, {"offset_ppm", 1.0}, {"tolerance_ppm", 0.1}}}};
  const auto read = parse_stored_result(tree.dump());
  REQUIRE(read);
  CHECK(read->clocks.empty());
}

TEST_CASE("parse_stored_result: what is wrong is named with its place") {
  json tree = stored();
  tree["schema"] = "other/1";
  CHECK(refusal(tree).starts_with("/schema: found \"other/1\""));
  tree = stored();
  tree["command"] = "drift";
  CHECK(refusal(tree).starts_with("/command: found \"drift\""));
  tree = stored();
  tree["captures"].push_back(tree["captures"][0]);
  CHECK(refusal(tree) == "/captures: found 2 captures, expected one");
  tree = stored();
  tree["captures"] = json::array();
  tree["errors"] = json::array({{{"message", "cannot open"}}});
  CHECK(refusal(tree) ==
        "/captures: found 0 captures, expected one, and says "
        "itself: cannot open");
  tree = stored();
  tree["captures"][0]["channels"][0]["budget"] = json::array();
  CHECK(refusal(tree) ==
        "/captures/0/channels/0/budget: found no uncertainty "
        "of the capture, expected one");
  tree = stored();
  tree["captures"][0]["channels"][0]["frequency"]["value_hz"] = "fast";
  CHECK(refusal(tree).starts_with(
      "/captures/0/channels/0/frequency/value_hz: found"));
  tree = stored();
  tree["captures"][0]["channels"][0]["frequency"]["value_hz"] = -1.0;
  CHECK(refusal(tree).ends_with("expected a number above zero"));
  tree = stored();
  tree["captures"][0]["warnings"] = json::array({{{"code", "x"}}});
  CHECK(refusal(tree).starts_with("/captures/0/warnings/0: found no"));
  tree = stored();
  tree["timebase"]["offset_ppm"] = nullptr;
  CHECK(refusal(tree).starts_with("/timebase/offset_ppm: found"));
  CHECK(refusal(json::array()).starts_with("the whole document: found"));
  CHECK_FALSE(parse_stored_result("{"));
  CHECK_FALSE(parse_stored_result(""));
}

TEST_CASE("looks_like_json: by its first character") {
  CHECK(looks_like_json(" \n{\"schema\""));
  CHECK(looks_like_json("\xEF\xBB\xBF{"));
  CHECK_FALSE(looks_like_json("$date"));
  CHECK_FALSE(looks_like_json("Time,clk"));
  CHECK_FALSE(looks_like_json(""));
}
