// SPDX-License-Identifier: GPL-3.0-or-later
#include "unit/estimate/doc_table.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <iterator>

namespace clockassay::testing {

void check_doc_table(const std::string& page, const std::string& name,
                     const std::string& table) {
  const std::string path = CLOCKASSAY_SOURCE_DIR "/docs/" + page;
  std::ifstream in(path, std::ios::binary);
  REQUIRE_MESSAGE(in.is_open(), "no page " << path);
  std::string text{std::istreambuf_iterator<char>(in), {}};
  const std::string begin = "<!-- " + name + " -->\n";
  const auto at = text.find(begin);
  const auto end = text.find("<!-- end of " + name + " -->\n");
  REQUIRE_MESSAGE((at != std::string::npos && end != std::string::npos),
                  path << " has no table " << name);
  const auto from = at + begin.size();
  REQUIRE(from <= end);
  if (std::getenv("CLOCKASSAY_UPDATE_GOLDEN") != nullptr) {
    text.replace(from, end - from, table);
    std::ofstream(path, std::ios::binary) << text;
    FAIL_CHECK(path << " written anew: review it");
    return;
  }
  INFO("table ", name, " of ", path);
  CHECK(table == text.substr(from, end - from));
}

}  // namespace clockassay::testing
