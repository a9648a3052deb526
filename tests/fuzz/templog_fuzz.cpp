// SPDX-License-Identifier: GPL-3.0-or-later
// What libFuzzer calls: any bytes, read as a temperature log and cut into
// windows, which must follow one another and have temperatures.
#include <cmath>
#include <cstdint>

#include "clockassay/drift/temperature_log.h"
#include "fuzz/require.h"

namespace clockassay {
namespace {

void cut(const TemperatureLog& log) {
  std::vector<WindowTemperature> temperatures;
  double before = log.readings.front().time_s;
  for (const TimeWindow& w : cut_windows(log, log.readings.front().time_s,
                                         log.readings.back().time_s)) {
    require(w.from_s >= before && w.to_s >= w.from_s, "windows out of order");
    before = w.to_s;
    if (!(w.from_s < w.to_s)) continue;
    const auto at = temperature_over(log, w.from_s, w.to_s);
    require(at.has_value(), "a window beyond the log");
    require(std::isfinite(at->mean_c) && at->u_c >= 0.0,
            "a temperature that is none");
    temperatures.push_back(*at);
  }
  require(sweeps_of(temperatures).size() == temperatures.size(),
          "as many ways as windows");
}

}  // namespace
}  // namespace clockassay

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data,
                                      std::size_t size) {
  using namespace clockassay;
  const auto log =
      read_temperature_log({reinterpret_cast<const char*>(data), size});
  if (!log) {
    require(!log.error().message.empty(), "an error without a message");
    return 0;
  }
  for (std::size_t i = 1; i < log->readings.size(); ++i) {
    require(log->readings[i].time_s > log->readings[i - 1].time_s,
            "times that do not increase");
  }
  for (const TimeWindow& gap : log_gaps(*log)) {
    require(gap.from_s < gap.to_s, "a gap without length");
  }
  cut(*log);
  return 0;
}
