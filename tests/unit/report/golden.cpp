// SPDX-License-Identifier: GPL-3.0-or-later
#include "unit/report/golden.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <iterator>

namespace clockassay::testing {

void check_golden(const std::string& file, const std::string& text) {
  const std::string path =
      std::string(CLOCKASSAY_SOURCE_DIR "/tests/golden/") + file;
  if (std::getenv("CLOCKASSAY_UPDATE_GOLDEN") != nullptr) {
    std::ofstream(path, std::ios::binary) << text;
    FAIL_CHECK(path << " written anew: review it");
    return;
  }
  std::ifstream in(path, std::ios::binary);
  REQUIRE_MESSAGE(in.is_open(), "no golden file " << path);
  const std::string expected{std::istreambuf_iterator<char>(in), {}};
  INFO("golden file " << file);
  CHECK(text == expected);
}

}  // namespace clockassay::testing
