// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/error_text.h"

#include <doctest/doctest.h>

using namespace clockassay;

TEST_CASE("error_text: the place, what was found and expected, the way out") {
  const std::string found = "found \"abc\", expected a time";
  const std::string hint = "say it with --time-unit";
  CHECK(error_text({ErrorCode::kBadData, found, hint, "a.csv", 7, 120}) ==
        "clockassay: a.csv:7: found \"abc\", expected a time\n"
        "  say it with --time-unit\n");
  CHECK(error_text({ErrorCode::kBadData, found, hint, "a.gz", {}, 120}) ==
        "clockassay: a.gz: byte 120: found \"abc\", expected a time\n"
        "  say it with --time-unit\n");
  CHECK(error_text({ErrorCode::kBadData, found, "", "-", 7, {}}) ==
        "clockassay: standard input:7: found \"abc\", expected a time\n");
  CHECK(error_text({ErrorCode::kNoInput, "cannot open", "", "a", {}, {}}) ==
        "clockassay: a: cannot open\n");
  CHECK(error_text({ErrorCode::kUsage, "found no command", "", "", 1, 2}) ==
        "clockassay: found no command\n");
}

TEST_CASE("error_text: nothing in it acts on a terminal, or floods it") {
  CHECK(error_text({ErrorCode::kBadData, "a\x1b[2J", "\xFF", "\x07.csv", 1,
                    0}) == "clockassay: \\x07.csv:1: a\\x1B[2J\n  \\xFF\n");
  const std::string flood(3'000'000, 'x');
  CHECK(error_text({ErrorCode::kBadData, flood, flood, "a", {}, {}}) ==
        "clockassay: a: " + std::string(1000, 'x') + "… (3000000 bytes)\n  " +
            std::string(1000, 'x') + "… (3000000 bytes)\n");
}
