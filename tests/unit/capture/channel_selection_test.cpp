// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/channel_selection.h"

#include <doctest/doctest.h>

namespace clockassay {
namespace {

using Names = std::vector<std::string>;
using Indices = std::vector<std::size_t>;

const Names kNames{"top.clk_out", "top.uart.clk", "top.spi.clk", "top.led[0]"};

TEST_CASE("select_channels: full name, leaf, and name without its select") {
  CHECK(*select_channels(kNames, Names{"top.spi.clk"}) == Indices{2});
  CHECK(*select_channels(kNames, Names{"clk_out"}) == Indices{0});
  CHECK(*select_channels(kNames, Names{"top.led"}) == Indices{3});
  CHECK(*select_channels(kNames, Names{"led"}) == Indices{3});
  CHECK(*select_channels(kNames, Names{"led[0]"}) == Indices{3});
}

TEST_CASE("select_channels: in file order, each once") {
  CHECK(*select_channels(kNames, Names{"led", "clk_out", "top.clk_out"}) ==
        Indices{0, 3});
}

TEST_CASE("select_channels: a whole name is not made ambiguous by a leaf") {
  CHECK(*select_channels(Names{"a.clk", "clk"}, Names{"clk"}) == Indices{1});
}

TEST_CASE("select_channels: a leaf that several have is refused") {
  const auto got = select_channels(kNames, Names{"clk"});
  REQUIRE_FALSE(got);
  CHECK(got.error().code == ErrorCode::kBadData);
  CHECK(got.error().message ==
        "found several channels \"clk\": \"top.uart.clk\", \"top.spi.clk\"");
  CHECK(got.error().hint == "give the full name");
}

TEST_CASE("select_channels: an unknown name lists the known, nearest first") {
  const auto got = select_channels(kNames, Names{"clk_uot"});
  REQUIRE_FALSE(got);
  CHECK(got.error().message ==
        "found no channel \"clk_uot\", there are \"top.clk_out\", "
        "\"top.uart.clk\", \"top.spi.clk\", \"top.led[0]\"");
  CHECK(got.error().hint == "did you mean \"top.clk_out\"?");
}

TEST_CASE("select_channels: a long list is cut") {
  Names many;
  for (int i = 0; i < 20; ++i) many.push_back("n" + std::to_string(i));
  const auto got = select_channels(many, Names{"something else"});
  REQUIRE_FALSE(got);
  CHECK(got.error().message ==
        "found no channel \"something else\", there are \"n0\", \"n1\", "
        "\"n2\", \"n3\", \"n4\", \"n5\", \"n6\", \"n7\" and 12 more");
  CHECK(got.error().hint == "name one of these");
}

}  // namespace
}  // namespace clockassay
