// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_id_table.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

TEST_CASE("VcdIdTable: identifiers that begin alike stay apart") {
  VcdIdTable table;
  CHECK(table.add("!") == 0);
  CHECK(table.add("!!") == 1);
  CHECK(table.add("abcdefgh1") == 2);
  CHECK(table.add("abcdefgh2") == 3);
  CHECK(table.add("!") == 0);
  CHECK(table.size() == 4);
  CHECK(table.find("!!") == 1);
  CHECK(table.find("abcdefgh2") == 3);
  CHECK_FALSE(table.find("!!!"));
  CHECK_FALSE(table.find("abcdefgh"));
  CHECK_FALSE(table.find(""));
}

TEST_CASE("VcdIdTable: an identifier that begins another one is found out") {
  VcdIdTable table;
  for (const char* id : {"!", "!!", "ab"}) (void)table.add(id);
  CHECK(table.begins_longer("!"));
  CHECK(table.begins_longer("a"));
  CHECK_FALSE(table.begins_longer("!!"));
  CHECK_FALSE(table.begins_longer("ab"));
  CHECK_FALSE(table.begins_longer("b"));
}

TEST_CASE("VcdIdTable: thousands of identifiers keep their numbers") {
  VcdIdTable table;
  for (std::size_t i = 0; i < 20000; ++i) {
    REQUIRE(table.add("n" + std::to_string(i)) == i);
  }
  for (std::size_t i = 0; i < 20000; ++i) {
    REQUIRE(table.find("n" + std::to_string(i)) == i);
  }
  CHECK_FALSE(table.find("n20000"));
}

}  // namespace
}  // namespace clockassay
