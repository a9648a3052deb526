// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/series_points.h"

namespace clockassay {

std::vector<PointWarning> point_warnings(const std::vector<Warning>& channel,
                                         const std::vector<Warning>& capture) {
  std::vector<PointWarning> out;
  for (const auto* list : {&channel, &capture}) {
    for (const Warning& w : *list) {
      // Of the series as a whole, which says it once.
      if (w.code == WarningCode::kTimebaseAssumed) continue;
      const WarningInfo& info = warning_info(w.code);
      out.push_back(
          {info.name, w.message, info.forbids_pass, info.forbids_fail});
    }
  }
  return out;
}

std::string joined(const std::vector<std::string>& names) {
  std::string out;
  for (const std::string& name : names) {
    out += (out.empty() ? "\"" : ", \"") + name + '"';
  }
  return out;
}

Error several_clocks(const std::vector<std::string>& names) {
  return {ErrorCode::kUsage,
          "found clocks on " + joined(names) + ", expected one",
          "say which with --channel"};
}

Timebase timebase_of(const ReadingArguments& reading) {
  return reading.timebase.value_or(Timebase{});
}

void take_budget(const Budget& budget, const Timebase& timebase,
                 TemperaturePoint& point) {
  point.frequency = budget.frequency.value;
  point.u = Ppm(budget.error_ppm.normal_sigma);
  point.half_width = Ppm(budget.error_ppm.rectangle_half_width);
  point.timebase = timebase;
}

}  // namespace clockassay
