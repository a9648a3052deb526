// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/taken_at.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {

TEST_CASE("parse_utc: seconds since 1970, as date -u says") {
  // date -u -d 2026-01-05T10:00:00Z +%s
  CHECK(parse_utc("2026-01-05T10:00:00Z").value() == 1767607200.0);
  CHECK(parse_utc("2026-01-05").value() == 1767571200.0);
  CHECK(parse_utc("1970-01-01T00:00:00Z").value() == 0.0);
  CHECK(parse_utc("2024-02-29").value() == 1709164800.0);
  CHECK(utc_text(1767607200.75) == "2026-01-05T10:00:00Z");
}

TEST_CASE("parse_utc: what is no time is refused") {
  for (const char* text :
       {"", "monday", "2026-13-01", "2026-02-30", "2026-01-05T25:00:00Z",
        "2026-01-05T10:00:00", "2026-01-05 10:00:00", "2026-01-05Z",
        "2026-01-05T10:00:00Zx"}) {
    CAPTURE(text);
    const auto time = parse_utc(text);
    REQUIRE_FALSE(time);
    CHECK(time.error().code == ErrorCode::kUsage);
  }
}

TEST_CASE("taken_at: what is stated goes before the file") {
  CHECK(taken_at("none", {{"taken_at", "1970-01-02"}}) == 86400.0);
}

}  // namespace clockassay
