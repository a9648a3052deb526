// SPDX-License-Identifier: GPL-3.0-or-later
// Every capture of testdata/capture, with the options beside it: files that are
// added are checked without a word here.
#include <doctest/doctest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "support/capture_options.h"
#include "support/reading_oracle.h"

namespace clockassay {
namespace {

std::vector<std::string> captures() {
  std::vector<std::string> found;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(
           std::string(CLOCKASSAY_SOURCE_DIR) + "/testdata/capture")) {
    const std::string extension = entry.path().extension();
    if (extension == ".csv" || extension == ".vcd") {
      found.push_back(entry.path().string());
    }
  }
  return found;
}

// Pieces of every length up to the whole file begin, together, at every byte
// at which a piece may.
TEST_CASE("testdata: every file reads the same whole and in any pieces") {
  const auto files = captures();
  CHECK(files.size() > 80);
  for (const std::string& file : files) {
    CAPTURE(file);
    const auto options = test::capture_options(test::options_beside(file));
    REQUIRE(options);
    const std::string text = test::file_text(file);
    const std::size_t longest = std::min<std::size_t>(text.size() + 1, 2'000);
    for (std::size_t size = 1; size <= longest; ++size) {
      const auto fault = test::reading_fault(
          text, *options, {size, 1 + size % 3, 7, size % 2 == 0});
      INFO(fault.value_or(""));
      REQUIRE_FALSE(fault);
    }
  }
}

TEST_CASE("testdata: any end of a file is refused or keeps its promises") {
  for (const std::string& file : captures()) {
    CAPTURE(file);
    const auto options = test::capture_options(test::options_beside(file));
    REQUIRE(options);
    const std::string text = test::file_text(file);
    for (std::size_t size = 0; size < text.size() && size < 2'000; ++size) {
      const auto fault =
          test::reading_fault(text.substr(0, size), *options, {5, 2, 3});
      INFO("cut off at " << size << ": " << fault.value_or(""));
      REQUIRE_FALSE(fault);
    }
  }
}

}  // namespace
}  // namespace clockassay
