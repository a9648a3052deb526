// SPDX-License-Identifier: GPL-3.0-or-later
// What libFuzzer calls: any bytes as a stored result, which is then held
// against itself.
#include <cmath>
#include <cstdint>
#include <string_view>
#include <vector>

#include "clockassay/analysis/stored_result.h"
#include "clockassay/history/comparison.h"
#include "fuzz/check_reports.h"
#include "fuzz/require.h"

namespace clockassay {
namespace {

void compare(const StoredResult& result) {
  std::vector<ClockSeen> seen;
  for (const StoredClock& clock : result.clocks) {
    require(
        std::isfinite(clock.frequency.value()) && clock.frequency.value() > 0.0,
        "a clock that does not run");
    require(std::isfinite(clock.u.value()) && clock.u.value() >= 0.0,
            "an uncertainty that is none");
    seen.push_back(seen_of(clock));
  }
  Record record;
  record.command = "compare";
  ComparisonResult& comparison = record.comparison.emplace();
  comparison.before = comparison.after = result.capture;
  comparison.options.moves = Ppm(1.0);
  comparison.options.limit = ToleranceBand{Rational(-3), Rational(3)};
  comparison.shifts = compare_clocks(seen, seen, comparison.options);
  test::checked_reports(record);
}

}  // namespace
}  // namespace clockassay

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data,
                                      std::size_t size) {
  using namespace clockassay;
  const auto result =
      parse_stored_result({reinterpret_cast<const char*>(data), size});
  if (!result) {
    require(!result.error().message.empty(), "an error without a message");
    return 0;
  }
  compare(*result);
  return 0;
}
