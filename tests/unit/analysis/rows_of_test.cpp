// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/rows_of.h"

#include <doctest/doctest.h>

namespace clockassay {
namespace {

Record measured() {
  Record record;
  record.command = "measure";
  record.tool_version = "1";
  CaptureResult capture;
  capture.path = "a.vcd";
  capture.tags = {{"build", "4"}, {"board", "7"}};
  ChannelResult channel;
  channel.name = "clk";
  channel.budget.emplace();
  channel.budget->frequency.value = Hertz(12e6);
  channel.jitter.period_rms = Seconds(1e-10);
  capture.channels = {channel};
  record.captures = {capture};
  return record;
}

}  // namespace

TEST_CASE("rows_of: a row a channel where nothing is judged, tags by key") {
  Record record = measured();
  record.captures[0].channels.push_back(record.captures[0].channels[0]);
  record.captures[0].channels[1].is_reference = true;
  const auto rows = rows_of(record, 5.0);
  REQUIRE(rows.size() == 1);
  CHECK(rows[0].clock == "clk");
  CHECK(rows[0].taken_s == 5.0);
  CHECK(rows[0].frequency->value() == 12e6);
  CHECK(rows[0].period_jitter->value() == 1e-10);
  CHECK_FALSE(rows[0].error);
  CHECK(rows[0].tags[0].key == "board");
}

TEST_CASE("rows_of: a row a verdict, and one for a clock that is not there") {
  Record record = measured();
  record.command = "verify";
  record.captures[0].channels[0].jitter.resolution_limited = true;
  Verdict there;
  there.capture = "a.vcd";
  there.clock = "main";
  there.channel = "clk";
  there.error = Ppm(3.0);
  there.expanded_uncertainty = Ppm(1.0);
  there.decision = Decision::kPass;
  Verdict missing = there;
  missing.clock = "other";
  missing.channel = "gone";
  missing.error.reset();
  missing.decision = Decision::kFail;
  record.verdicts = {there, missing};
  const auto rows = rows_of(record, 0.0);
  REQUIRE(rows.size() == 2);
  CHECK(rows[0].clock == "main");
  CHECK(rows[0].error->value() == 3.0);
  CHECK(rows[0].decision == "pass");
  // What sampling may have made is nobody's jitter.
  CHECK_FALSE(rows[0].period_jitter);
  CHECK_FALSE(rows[1].frequency);
  CHECK_FALSE(rows[1].error);
  CHECK(rows[1].decision == "fail");
}

}  // namespace clockassay
