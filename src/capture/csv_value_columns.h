// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "capture/csv_analogue.h"
#include "capture/csv_levels.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// A cell of the first rows, trimmed and without quotes.
struct FirstCell {
  std::string_view text;
  std::size_t byte = 0;  ///< where it stands in the file
};

/// The first cells of one column beside the time.
struct FirstCells {
  std::string name;
  std::vector<FirstCell> cells;
  /// If it holds voltages, in 10^this volts; nullopt: no header says it.
  std::optional<int> volt_exponent = {};
};

enum class ValueKind { kLevels, kAnalogue, kWords };

/// A channel that a column delivers.
struct ValueTarget {
  std::size_t slot = 0;  ///< in Layout::selected
  int bit = 0;           ///< of a word
};

/// How the cells of one column are read.
struct ValueColumn {
  std::string name;
  ValueKind kind = ValueKind::kLevels;
  LevelWords words;        ///< of kLevels
  AnalogueScale analogue;  ///< of kAnalogue
  std::size_t track = 0;   ///< of kAnalogue: how many such come before
  int radix = 16;          ///< of kWords
  bool prefixed = false;   ///< of kWords: each first cell states its base
  /// Of kWords: bits of the range that the column's name ends in, if in any.
  std::optional<int> declared_width;
  char mark = '.';  ///< decimal mark of the file
  /// Characters every cell of the first rows has, if it is one number for all.
  std::size_t fixed_size = 0;
  /// Its first cells are levels, some two values or words with a prefix, or its
  /// bits are read; it changes only where the signals do.
  bool logic = false;
  std::vector<ValueTarget> targets;  ///< none: the column is not read
};

/// Whether any of them is analogue: a row then needs those before it.
bool has_analogue(std::span<const ValueColumn> columns);

/// Decides by the first cells of each column, and by what the user says, what
/// its cells mean and which channels it delivers. Fills in the layout's
/// channel_names, selected and missing, and adds warnings and facts.
/// Levels: every first cell is one, see LevelWords.
/// Voltages: decimal numbers, with ReadOptions::analogue.
/// Words: a prefix states their base, or CsvOptions::radix; a bit of them is a
/// channel name[bit], read only if asked for, counted from 0, or as a range
/// such as [15:8] at the end of the column's name says (see BusName). A column
/// can be asked for a bit too if it does not look like words so far.
/// What is none of these is refused if it is asked for, or no channel is named
/// and no column can be read without an option, or if it looks like levels in
/// words of its own; else it is listed as not read.
/// Errors: kBadData with the byte of the first cell that is no level, and the
///         options that resolve it; kUsage and kBadData of select_channels.
Result<std::vector<ValueColumn>> read_value_columns(
    const std::vector<FirstCells>& columns, char mark,
    const ReadOptions& options, Layout& layout);

}  // namespace clockassay
