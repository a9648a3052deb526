// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/capture/understanding.h"

namespace clockassay {

/// What the rows of a CSV file stand for.
enum class CsvRows {
  kChanges,  ///< a row whenever something changes
  kSamples,  ///< a row per sample, at a constant step
  kEvents,   ///< a row per change of one channel, which it names
};

/// Which edges a lone column of times holds.
enum class LoneEdges { kRising, kBothRiseFirst, kBothFallFirst };

/// What a number in the time column counts.
struct CsvTimeUnit {
  bool samples = false;  ///< samples, of the stated rate; else
  int exponent = 0;      ///< 10^this seconds
};

/// What the user says about a CSV file where it does not say it itself, or not
/// unambiguously. Empty members: by the file, or refused if it does not show.
struct CsvOptions {
  std::optional<char> separator;     ///< ',' ';' '\t' '|' or ' ' for blanks
  std::optional<char> decimal_mark;  ///< '.' or ','
  /// Name of the time column, its number from 1 on, or "none": rows are
  /// samples of the stated rate.
  std::string time_column;
  std::optional<CsvTimeUnit> time_unit;  ///< where header and cells say none
  bool time_is_step = false;             ///< times count from the row before
  std::optional<CsvRows> rows;
  std::optional<LoneEdges> edges;
  /// What low and high are written as, such as "-1" and "1".
  std::optional<std::pair<std::string, std::string>> levels;
  std::optional<int> radix;        ///< of packed words: 2, 10 or 16
  std::optional<Rational> tick_s;  ///< finest step of time to be held
};

/// Where an analogue column turns from low to high: it goes high at or above
/// threshold + hysteresis / 2, low at or below threshold - hysteresis / 2, and
/// the edge is where the straight line between two samples crosses the
/// threshold. Numbers are in the unit of the column, or in volts, which are
/// then converted to the unit its header states; a column that states none is
/// taken to be in volts.
struct AnalogueOptions {
  std::optional<Rational> threshold;   ///< empty: midway, by the first rows
  std::optional<Rational> hysteresis;  ///< empty: a tenth of the swing of
                                       ///< the first rows
  bool threshold_in_volts = false;
  bool hysteresis_in_volts = false;
};

/// What the user says about a capture that the file may not.
struct ReadOptions {
  std::vector<std::string> channels;  ///< empty: all
  /// A name of `channels` that means nothing in the file is listed in
  /// Capture::missing_channels instead of refused.
  bool skip_missing_channels = false;
  std::optional<Rational> sample_rate_hz;  ///< overrides the file's own
  std::string format;                      ///< "csv", "vcd"; empty: by content
  CsvOptions csv;
  std::optional<AnalogueOptions> analogue;  ///< absent: none is read
  /// Called once, when the header was understood: what it says is of use
  /// above all when the body is then refused. May be empty.
  std::function<void(const Understanding&)> header_understood;
};

}  // namespace clockassay
