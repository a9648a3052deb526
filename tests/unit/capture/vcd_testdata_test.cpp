// SPDX-License-Identifier: GPL-3.0-or-later
// Every file of testdata/capture/vcd: those of valid/ say the same in
// different ways, each of invalid/ has one fault, named after it.
#include <doctest/doctest.h>

#include <filesystem>
#include <map>
#include <string>

#include "support/read_text.h"

namespace clockassay {
namespace {

using test::described;
using test::read_text;

const std::string kFolder =
    std::string(CLOCKASSAY_SOURCE_DIR) + "/testdata/capture/vcd/";

std::map<std::string, std::string> files(const std::string& folder) {
  std::map<std::string, std::string> found;
  for (const auto& entry :
       std::filesystem::directory_iterator(kFolder + folder)) {
    found[entry.path().filename().string()] =
        test::file_text(entry.path().string());
  }
  return found;
}

TEST_CASE("vcd testdata: valid files all say the same") {
  const auto found = files("valid");
  REQUIRE(found.size() == 16);
  // Rises at 41, 125, 208 and falls at 83, 166, in ns, until 250.
  const test::PlainRun expected{0,
                                250,
                                {{Ticks(41), Level::kHigh},
                                 {Ticks(83), Level::kLow},
                                 {Ticks(125), Level::kHigh},
                                 {Ticks(166), Level::kLow},
                                 {Ticks(208), Level::kHigh}}};
  for (const auto& [name, text] : found) {
    const auto& which = name;
    CAPTURE(which);
    const auto capture = read_text(text);
    INFO(described(capture));
    REQUIRE(capture);
    REQUIRE(capture->channels.size() == 1);
    CHECK(capture->channels[0].name ==
          (name == "latin1_name.vcd" ? "logger.clk_\xE9" : "logger.clk_out"));
    const auto channel = test::plain_channel(capture->channels[0]);
    REQUIRE(channel.runs.size() == 1);
    CHECK(channel.runs[0] == expected);
    CHECK(capture->warnings.empty());
  }
}

TEST_CASE("vcd testdata: each invalid file is refused for its fault") {
  const std::map<std::string, std::string> expected{
#include "unit/capture/vcd_refusals.inc"
  };
  for (const auto& [name, text] : files("invalid")) {
    const auto& which = name;
    CAPTURE(which);
    REQUIRE(expected.count(name) == 1);
    CHECK(described(read_text(text)) == expected.at(name));
  }
  CHECK(expected.size() == files("invalid").size());
}

TEST_CASE("vcd testdata: every file split at every byte reads the same") {
  for (const char* folder : {"valid", "invalid"}) {
    for (const auto& [name, text] : files(folder)) {
      const auto& which = name;
      CAPTURE(which);
      const std::string whole = described(read_text(text));
      for (std::size_t size = 1; size <= text.size() + 1; ++size) {
        CAPTURE(size);
        REQUIRE(described(read_text(text, {}, {size, 2, 5})) == whole);
      }
    }
  }
}

}  // namespace
}  // namespace clockassay
