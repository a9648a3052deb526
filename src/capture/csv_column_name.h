// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <iterator>
#include <optional>
#include <string>
#include <string_view>

namespace clockassay {

/// What the name of a column says about time.
enum class ColumnMeaning {
  kOther,
  kTime,         ///< since a fixed instant
  kStep,         ///< since the row before
  kSampleCount,  ///< counts samples or rows
  kRising,       ///< times of rising edges
  kEdges,        ///< times of edges of a kind it does not say
};

struct ColumnName {
  ColumnMeaning meaning = ColumnMeaning::kOther;
  std::optional<int> unit_exponent;  ///< the unit written with it
};

/// Names as `time_us`, `Time (us)`, `time [us]`, `t/us`; of the time: time,
/// times, t, timestamp, timestamps, elapsed, elapsed time.
ColumnName column_name(std::string_view text);

/// A name in lower case, without blanks and the marks between words.
std::string plain_name(std::string_view text);

/// A plain name, and the unit written with it.
struct NameAndUnit {
  std::string name;
  std::optional<int> exponent;
};
NameAndUnit split_unit(std::string_view cell);

/// Whether a plain name is one of a list.
template <class Names>
bool is_one_of(const std::string& name, const Names& names) {
  return std::find(std::begin(names), std::end(names), name) != std::end(names);
}

}  // namespace clockassay
