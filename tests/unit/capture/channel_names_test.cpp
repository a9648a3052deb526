// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/channel_names.h"

#include <doctest/doctest.h>

#include <vector>

using clockassay::did_you_mean;
using clockassay::nearest_channel;
using clockassay::no_such_channel;

using Names = std::vector<std::string>;

TEST_CASE("nearest_channel: the last parts of a name go before likeness") {
  const Names names = {"a.clk", "b.clk", "a.b.clk2"};
  CHECK(nearest_channel(names, "b.clk2") == "a.b.clk2");
  CHECK(nearest_channel(names, "b.clq") == "b.clk");
  CHECK(nearest_channel(names, "top.clk2") == "a.b.clk2");
  CHECK(nearest_channel(names, "mco").empty());
  // Parts end at a point only.
  CHECK(nearest_channel(Names{"xb.clk22222222", "b.clk"}, "b.clk2") == "b.clk");
}

TEST_CASE("no_such_channel: the names there are, the nearest first") {
  const Names names = {"reset", "clk_out", "led"};
  CHECK(no_such_channel(names, "mco") ==
        "no channel \"mco\", there are \"reset\", \"clk_out\", \"led\"");
  CHECK(did_you_mean(names, "mco").empty());
  CHECK(no_such_channel(names, "clk_ou") ==
        "no channel \"clk_ou\", there are \"clk_out\", \"reset\", \"led\"");
  CHECK(did_you_mean(names, "clk_ou") == "did you mean \"clk_out\"?");
  CHECK(no_such_channel({}, "mco") == "no channel \"mco\", and no other");
}

TEST_CASE("no_such_channel: ten thousand names and long ones stay short") {
  Names names;
  for (int i = 0; i < 10000; ++i) names.push_back("n" + std::to_string(i));
  CHECK(no_such_channel(names, "mco") ==
        "no channel \"mco\", there are \"n0\", \"n1\", \"n2\", \"n3\", \"n4\", "
        "\"n5\", \"n6\", \"n7\" and 9992 more");
  // 60 bytes are shown, and nothing that is not printable.
  const std::string esc =
      no_such_channel(Names{std::string(5000, 'n')}, "\x1b");
  CHECK(esc ==
        "no channel \"\\x1B\", there are \"" + std::string(60, 'n') + "…\"");
}
