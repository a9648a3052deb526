// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/capture/level_event.h"
#include "clockassay/capture/read_options.h"

namespace clockassay::test {

/// Both levels at one time, as '0', '1' or 'x'.
struct WrittenRow {
  std::int64_t time = 0;  ///< in ticks
  std::array<char, 2> levels = {'0', '0'};
};

/// How a capture looks as CSV, which must not matter.
struct CsvLook {
  char separator = ',';
  char mark = '.';          ///< of decimals
  int unit = 0;             ///< times are written in 10^unit seconds
  bool long_form = false;   ///< a row a channel, which it names
  bool leaves_out = false;  ///< cells and rows that change nothing
};

/// One or two channels, a and b, that are written as VCD and as CSV by the
/// functions below, which share nothing with the readers.
struct WrittenCapture {
  int exponent = 0;  ///< a tick is 10^exponent seconds
  std::size_t channels = 1;
  std::vector<WrittenRow> rows;  ///< times do not decrease; the last is later
  bool repeats_levels = false;   ///< VCD: values that change nothing, too
  std::optional<std::int64_t> rate_hz;  ///< stated in both texts
  unsigned expected_off = 0;            ///< which clock it is held against
  CsvLook csv;
};

/// Takes any bytes; fewer than four: nullopt.
std::optional<WrittenCapture> written_capture(const std::uint8_t* data,
                                              std::size_t size);

std::string as_vcd(const WrittenCapture& capture);
std::string as_csv(const WrittenCapture& capture);

/// What a reader has to be told of as_csv, because rows do not say it
/// themselves: kinds of rows, separator, mark and tick.
ReadOptions csv_options(const WrittenCapture& capture);

/// What both readers have to find: every change between known levels, the last
/// of several at one time; none at the first time.
std::vector<LevelEvent> true_edges(const WrittenCapture& capture,
                                   std::size_t channel);

/// The mean frequency of a channel from its first rise to its last, exactly;
/// nullopt: fewer than two rises, or beyond the range of Rational.
std::optional<Rational> mean_frequency(const WrittenCapture& capture,
                                       std::size_t channel);

}  // namespace clockassay::test
