// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/progress_line.h"

#include <doctest/doctest.h>

#include "clockassay/base/utf8.h"

using namespace clockassay;

namespace {

std::size_t characters(std::string_view text) {
  std::size_t n = 0;
  for (; !text.empty(); ++n) text.remove_prefix(first_code_point(text).bytes);
  return n;
}

}  // namespace

TEST_CASE("progress_text: bytes, percent, rate and time left") {
  // 1.2 GB in 4 s are 300 MB/s; the other 3.3 GB take 11 s.
  CHECK(progress_text({"good-board.vcd", 1'200'000'000, 4'500'000'000, 4.0},
                      80) ==
        "good-board.vcd  1.20 GB of 4.50 GB (26 %)  300 MB/s  11 s left");
  // 1 MB/s: 3700 s are left, then 100 s.
  CHECK(progress_text({"a", 1'000'000, 3'701'000'000, 1.0}, 80) ==
        "a  1.00 MB of 3.70 GB (0 %)  1.00 MB/s  1:01 h left");
  CHECK(progress_text({"a", 1'000'000, 101'000'000, 1.0}, 80) ==
        "a  1.00 MB of 101 MB (0 %)  1.00 MB/s  1:40 min left");
}

TEST_CASE("progress_text: without an end only bytes and rate are known") {
  CHECK(progress_text({"-", 12'345, std::nullopt, 0.5}, 80) ==
        "standard input  12.3 kB  24.7 kB/s");
  // A file that grew while it was read.
  CHECK(progress_text({"a", 300, 200, 1.0}, 80) == "a  300 B  300 B/s");
  CHECK(progress_text({"a", 0, 0, 0.0}, 80) == "a  0 B");
}

TEST_CASE(
    "progress_text: the line stays within the terminal, and is harmless") {
  const std::string long_path = "/a/b/" + std::string(300, 'x') + "/clk.vcd";
  const std::string nasty = "\x1b[2J\xFFµ\u202E時時時.vcd";
  for (std::size_t width = 1; width < 200; ++width) {
    for (const std::string& path : {long_path, nasty, std::string("a")}) {
      const std::string text =
          progress_text({path, 1'200'000'000, 4'500'000'000, 4.0}, width);
      CAPTURE(width);
      CAPTURE(text);
      CHECK(characters(text) <= width);
      CHECK(text.find('\x1b') == std::string::npos);
      CHECK(text.find('\xFF') == std::string::npos);
    }
  }
  CHECK(progress_text({long_path, 0, std::nullopt, 0.0}, 30) ==
        "…" + std::string(15, 'x') + "/clk.vcd  0 B");
}
