// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/report/chart.h"

namespace clockassay {

/// A power of ten in which values are told, and how its unit is written.
struct ChartUnit {
  double size = 1.0;
  std::string name;  ///< "ns"
};

/// The prefix in which the largest of them has one to three digits before the
/// point. In: finite or NaN
ChartUnit unit_for(const std::vector<double>& values, const std::string& unit);

/// "clk_out (good.vcd)", or the channel alone where there is one capture.
std::string place_of(const Record& record, const CaptureResult& capture,
                     const ChannelResult& channel);

/// What tells a verdict from others of its clock: its capture, and the channel
/// where that has several; empty where there is one alone.
std::string where_of(const Record& record, const Verdict& verdict);

/// A bar so wide to either side; none where that is not known.
void add_bar(ChartSeries& series, double value, std::optional<double> width);

/// Says so in the note where points have none.
void say_without_bars(Chart& chart);

// Charts of one thing each; absent where it has no values for one.
std::optional<Chart> limit_chart(const Verdict& verdict,
                                 const std::string& where);
std::vector<Chart> channel_charts(const ChannelResult& channel,
                                  const std::string& place);
std::optional<Chart> drift_chart(const DriftResult& result);
std::optional<Chart> shift_chart(const ComparisonResult& comparison);
std::optional<Chart> trend_chart(const Trend& trend);

/// "History of clk, board 7": with its tags.
std::string trend_title(const Trend& trend);

/// Whether the title is drawn, or stands beside the picture.
enum class ChartHeading { kDrawn, kElsewhere };

struct ChartLook {
  ChartHeading heading = ChartHeading::kDrawn;
  bool is_narrow = false;  ///< for a telephone
};

/// As svg_chart().
Result<std::string> draw_chart(const Chart& chart, ChartLook look);

/// Gives charts of one list ids of their own: "course", "course-2".
class ChartIds {
 public:
  void number(Chart& chart);

 private:
  std::map<std::string, int> given_;
};

}  // namespace clockassay
