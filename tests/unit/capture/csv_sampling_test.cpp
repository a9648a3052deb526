// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_sampling.h"

#include <doctest/doctest.h>

using namespace clockassay;

TEST_CASE("set_sampling: a rate whose period is no exact tick is refused") {
  // Numbers of samples with nine decimals, at 10^30 / 7 Hz: a tick of
  // 7 / 10^39 s, and 10^39 is above 2^126 = 8.5 * 10^37. Silently it stayed a
  // second.
  Int128 power = 1;
  for (int i = 0; i < 30; ++i) power *= 10;
  CsvHead head;
  head.sample_rate_hz = Rational::make(power, 7);
  REQUIRE(head.sample_rate_hz);
  head.sample_rate_byte = 12;
  head.body = 80;
  CsvLayout csv;
  csv.columns.time = 0;
  csv.columns.base = CsvTimeBase::kSamples;
  csv.tick_exponent = -9;
  auto set = set_sampling({}, head, {}, csv);
  REQUIRE_FALSE(set.has_value());
  CHECK(set.error().code == ErrorCode::kBadData);
  CHECK(set.error().message ==
        "found times that count samples at a rate of "
        "1000000000000000000000000000000/7 Hz, whose period has too many "
        "digits");
  CHECK(set.error().hint == "state --sample-rate with fewer digits");
  CHECK(set.error().byte == 12);
  ReadOptions options;
  options.sample_rate_hz = head.sample_rate_hz;
  set = set_sampling(options, head, {}, csv);
  REQUIRE_FALSE(set.has_value());
  CHECK(set.error().byte == 80);
}
