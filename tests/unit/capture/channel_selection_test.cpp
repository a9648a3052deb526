// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/channel_selection.h"

#include <doctest/doctest.h>

namespace clockassay {
namespace {

using Names = std::vector<std::string>;
using Indices = std::vector<std::size_t>;

const Names kNames{"top.clk_out", "top.uart.clk", "top.spi.clk", "top.led[0]"};

Indices chosen(const Names& names, const Names& wanted) {
  const auto got = select_channels(names, wanted, false);
  REQUIRE(got);
  return got->chosen();
}

TEST_CASE("select_channels: full name, leaf, and name without its select") {
  CHECK(chosen(kNames, {"top.spi.clk"}) == Indices{2});
  CHECK(chosen(kNames, {"clk_out"}) == Indices{0});
  CHECK(chosen(kNames, {"top.led"}) == Indices{3});
  CHECK(chosen(kNames, {"led"}) == Indices{3});
  CHECK(chosen(kNames, {"led[0]"}) == Indices{3});
  CHECK(chosen(kNames, {"led [0]"}) == Indices{3});
  CHECK(chosen(kNames, {"top.led [0]"}) == Indices{3});
}

TEST_CASE("select_channels: a select may be a word of its own on either side") {
  CHECK(chosen({"clk [0]", "clk [1]"}, {"clk[1]"}) == Indices{1});
  CHECK(chosen({"clk [0]"}, {"clk"}) == Indices{0});
  // A name that fits whole is not made ambiguous by one that does not.
  CHECK(chosen({"clk [0]", "clk[0]"}, {"clk[0]"}) == Indices{1});
}

TEST_CASE("select_channels: in file order, with the names that were given") {
  const auto got = select_channels(
      kNames, Names{"led", "clk_out", "top.clk_out", "clk_out"}, false);
  REQUIRE(got);
  CHECK(got->chosen() == Indices{0, 3});
  CHECK(got->asked ==
        std::vector<Names>{{"clk_out", "top.clk_out"}, {}, {}, {"led"}});
  CHECK(got->missing.empty());
}

TEST_CASE("select_channels: missing names are listed when they are skipped") {
  const auto got =
      select_channels(kNames, Names{"b", "led", "a", "b", "CLK_OUT"}, true);
  REQUIRE(got);
  CHECK(got->chosen() == Indices{3});
  CHECK(got->missing == Names{"b", "a", "CLK_OUT"});
  const auto none = select_channels(kNames, Names{"b"}, true);
  REQUIRE(none);
  CHECK(none->chosen().empty());
  CHECK(none->missing == Names{"b"});
}

TEST_CASE("select_channels: a whole name is not made ambiguous by a leaf") {
  CHECK(chosen({"a.clk", "clk"}, {"clk"}) == Indices{1});
}

TEST_CASE("select_channels: a leaf that several have is refused") {
  for (const bool skip_missing : {false, true}) {
    const auto got = select_channels(kNames, Names{"clk"}, skip_missing);
    REQUIRE_FALSE(got);
    CHECK(got.error().code == ErrorCode::kUsage);
    CHECK(got.error().message ==
          "found several channels \"clk\": \"top.uart.clk\", "
          "\"top.spi.clk\"");
    CHECK(got.error().hint == "give the full name");
  }
  const auto same = select_channels(Names{"a", "a"}, Names{"a"}, false);
  REQUIRE_FALSE(same);
  CHECK(same.error().code == ErrorCode::kUsage);
  CHECK(same.error().message == "found several channels \"a\": \"a\", \"a\"");
  CHECK(same.error().hint == "give them names that differ");
}

TEST_CASE("select_channels: an unknown name lists the known, nearest first") {
  const auto got = select_channels(kNames, Names{"clk_uot"}, false);
  REQUIRE_FALSE(got);
  CHECK(got.error().code == ErrorCode::kBadData);
  CHECK(got.error().message ==
        "found no channel \"clk_uot\", there are \"top.clk_out\", "
        "\"top.uart.clk\", \"top.spi.clk\", \"top.led[0]\"");
  CHECK(got.error().hint == "did you mean \"top.clk_out\"?");
}

TEST_CASE("select_channels: zeros in front of an index mean nothing") {
  const std::vector<BusName> buses = {{"cnt", {7, 0}, {}}};
  const auto bit =
      select_channels({}, Names{"cnt[00]", "cnt[007]"}, false, buses);
  REQUIRE(bit);
  REQUIRE(bit->bits.size() == 2);
  CHECK(bit->bits[0].name == "cnt[0]");
  CHECK(bit->bits[0].asked == Names{"cnt[00]"});
  CHECK(bit->bits[1].place == 7);
  const auto whole = select_channels(Names{"d[00]", "d[0]", "e[01]"},
                                     Names{"d[00]", "d[0]", "e[1]"}, false);
  REQUIRE(whole);
  CHECK(whole->asked == std::vector<Names>{{"d[00]"}, {"d[0]"}, {"e[1]"}});
}

TEST_CASE("select_channels: the end of a full name is taken for it") {
  const auto got =
      select_channels(Names{"a.clk", "a.b.clk2"}, Names{"b.clk2"}, false);
  REQUIRE_FALSE(got);
  CHECK(got.error().hint == "did you mean \"a.b.clk2\"?");
}

TEST_CASE("select_channels: a great many names are found in one pass") {
  // Each compared with every one there is, they would take minutes.
  constexpr std::size_t kMany = 30'000;
  std::vector<std::string> names, wanted;
  std::vector<BusName> buses;
  for (std::size_t i = 0; i < kMany; ++i) {
    const std::string number = std::to_string(i);
    names.push_back("top.c" + number);
    buses.push_back({"top.d" + number, {7, 0}, {}});
    wanted.push_back("c" + number);
    wanted.push_back("d" + number + "[" + std::to_string(i % 8) + "]");
  }
  const auto selection = select_channels(names, wanted, false, buses);
  REQUIRE(selection);
  CHECK(selection->chosen().size() == kMany);
  REQUIRE(selection->bits.size() == kMany);
  for (std::size_t i = 0; i < kMany; ++i) {
    REQUIRE(selection->asked[i] == std::vector<std::string>{wanted[2 * i]});
    REQUIRE(selection->bits[i].bus == i);
    REQUIRE(selection->bits[i].place == static_cast<std::int64_t>(i % 8));
  }
}

TEST_CASE("select_channels: a long list is cut") {
  Names many;
  for (int i = 0; i < 20; ++i) many.push_back("n" + std::to_string(i));
  const auto got = select_channels(many, Names{"something else"}, false);
  REQUIRE_FALSE(got);
  CHECK(got.error().message ==
        "found no channel \"something else\", there are \"n0\", \"n1\", "
        "\"n2\", \"n3\", \"n4\", \"n5\", \"n6\", \"n7\" and 12 more");
  CHECK(got.error().hint == "name one of these");
}

}  // namespace
}  // namespace clockassay
