// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "capture/csv_analogue.h"
#include "capture/csv_value_columns.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// The value cells of the rows of one piece on their way into its channels.
class CsvValues {
 public:
  /// `held`: what save() gave at the end of the piece before, or nothing at the
  /// beginning of the body. `columns` must outlive it.
  CsvValues(std::span<const ValueColumn> columns, std::size_t channels,
            std::span<const std::int64_t> held);

  /// The cell of column `column` in the row at `time`, trimmed, unquoted.
  /// Errors: kBadData without a place.
  std::optional<Error> take(std::size_t column, Ticks time,
                            std::string_view cell);
  /// Samples are missing before the next row: from `from` on nothing is known,
  /// and no line leads across.
  void break_off(Ticks from);
  /// The same, where the channels were told so already.
  void forget_samples();
  /// From `time` on the channel `slot` has `level`.
  void take_level(std::size_t slot, Ticks time, Level level) {
    builders_[slot].add(time, level);
  }

  /// The same for a column of levels that take turns; see
  /// PieceChannelBuilder::add_alternating.
  void take_alternating(std::size_t column, Level first,
                        std::span<const std::int64_t> odd,
                        std::span<const std::int64_t> even) {
    builders_[columns_[column].targets[0].slot].add_alternating(first, odd,
                                                                even);
  }

  /// The same for levels that need not; see PieceChannelBuilder::add_many.
  void take_many(std::size_t column, std::span<const std::int64_t> times,
                 std::span<const std::uint8_t> high) {
    builders_[columns_[column].targets[0].slot].add_many(times, high);
  }

  /// What the next piece must know; empty where no column is analogue.
  std::vector<std::int64_t> save() const;
  /// The channels; the object is spent.
  std::vector<PieceChannel> finish();

 private:
  std::optional<Error> take_voltage(const ValueColumn& column, Ticks time,
                                    std::string_view cell);
  std::optional<Error> take_word(const ValueColumn& column, Ticks time,
                                 std::string_view cell);

  std::span<const ValueColumn> columns_;
  std::vector<PieceChannelBuilder> builders_;
  std::vector<AnalogueTrack> tracks_;
};

/// What is known at the end of the body, by what the last piece saved.
Closing close_values(std::span<const ValueColumn> columns, std::size_t channels,
                     std::span<const std::int64_t> held);

/// Whether `cell`, the last of a row that no line end follows, may be the first
/// part of a cell that was cut off. A column that is not read says nothing.
bool may_be_cut(const ValueColumn& column, std::string_view cell);

}  // namespace clockassay
