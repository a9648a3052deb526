// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include "clockassay/analysis/analyse.h"

using namespace clockassay;

TEST_CASE("refuse_many: channels with edges are counted, others are not") {
  Capture capture;
  ChannelRecord still;
  still.runs.emplace_back();
  capture.channels.assign(kMostChannels, still);
  ChannelRecord rises = still;
  rises.runs[0].last_rise = Ticks(3);
  capture.channels.insert(capture.channels.end(), kMostChannels, rises);
  CHECK_FALSE(refuse_many(capture).has_value());
  ChannelRecord falls = still;
  falls.runs[0].leading_fall = Ticks(3);
  capture.channels.push_back(falls);
  const auto error = refuse_many(capture);
  REQUIRE(error.has_value());
  CHECK(error->code == ErrorCode::kBadData);
  CHECK(error->message ==
        "found edges on 4097 channels, expected 4096 at most at once");
}
