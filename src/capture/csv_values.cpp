// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_values.h"

#include <algorithm>
#include <bit>
#include <string>
#include <utility>

#include "capture/csv_cells.h"
#include "capture/csv_word.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

Error refused(const ValueColumn& column, std::string_view cell,
              const std::string& expected, std::string hint) {
  return {ErrorCode::kBadData,
          "found " + shown_text(cell) + " in the column " +
              shown_text(column.name) + ", expected " + expected,
          std::move(hint)};
}

Error refuse_voltage(const ValueColumn& column, std::string_view cell) {
  const auto number = scan_decimal<Int128>(cell, column.mark);
  if (!number) {
    std::string hint = number_hint(cell);
    if (is_infinity(cell)) {
      hint =
          "where the range of the instrument was exceeded, write the full "
          "scale value in its place";
    } else if (hint.empty()) {
      hint = "leave the cell empty where there is no sample, or delete the row";
    }
    return refused(column, cell, "a decimal number or nothing",
                   std::move(hint));
  }
  if (number->last_nonzero_place() < column.analogue.place) {
    return refused(column, cell,
                   "no digit below 1e" + std::to_string(column.analogue.place) +
                       ", far below those of the first rows",
                   "write the values with fewer digits");
  }
  return refused(column, cell, "a value of the size of those in the first rows",
                 "write the values with fewer digits, or state a threshold of "
                 "their size with --threshold VOLTS");
}

// Where the name of the column says fewer bits than a word has, one of name and
// base is wrong, and every bit may be.
Error refuse_width(const ValueColumn& column, std::string_view cell,
                   const PackedWord& word) {
  const int width = *column.declared_width;
  return refused(column, cell,
                 "a word of at most " + std::to_string(width) +
                     (width == 1 ? " bit" : " bits") +
                     " as the column's name says, and in base " +
                     std::to_string(column.radix) + " it has " +
                     std::to_string(std::bit_width(word.bits)),
                 "if the words are in another base, say so with --radix; else "
                 "correct the range in the name of the column");
}

std::size_t count_tracks(std::span<const ValueColumn> columns) {
  return static_cast<std::size_t>(std::count_if(
      columns.begin(), columns.end(),
      [](const ValueColumn& c) { return c.kind == ValueKind::kAnalogue; }));
}

std::vector<AnalogueTrack> load_tracks(std::size_t count,
                                       std::span<const std::int64_t> held) {
  std::vector<AnalogueTrack> tracks;
  for (std::size_t i = 0; i < count; ++i) {
    tracks.push_back(held.empty() ? AnalogueTrack()
                                  : AnalogueTrack::load(held));
  }
  return tracks;
}

// A peak between two samples is seen lower than it is, of a triangle with three
// samples a period by up to a third of its swing. Where the levels at which the
// column turns lie in the middle third, no peak is missed; outside, every
// second one may be, and the clock seems to be a slower one.
void warn_of_threshold(const ValueColumn& column, const AnalogueTrack& track,
                       Closing& closing) {
  const AnalogueScale& scale = column.analogue;
  // Values are below 2^125.
  const Int128 third = (track.greatest() / 2 - track.least() / 2) / 3 * 2;
  if (scale.low_to >= track.least() + third &&
      scale.high_from <= track.greatest() - third) {
    return;
  }
  const auto text = [&](Int128 value) {
    return analogue_text(value, scale.place);
  };
  closing.warnings.push_back(
      {WarningCode::kThresholdOffCentre,
       "the column " + shown_text(column.name) + " lies between " +
           text(track.least()) + " and " + text(track.greatest()) +
           ", and turns high at " + text(scale.high_from) + " and low at " +
           text(scale.low_to) +
           ", which is not within the middle third: peaks between samples may "
           "be missed; state a threshold nearer the middle, or a smaller "
           "hysteresis"});
}

}  // namespace

CsvValues::CsvValues(std::span<const ValueColumn> columns, std::size_t channels,
                     std::span<const std::int64_t> held)
    : columns_(columns),
      builders_(channels),
      tracks_(load_tracks(count_tracks(columns), held)) {}

std::optional<Error> CsvValues::take(std::size_t index, Ticks time,
                                     std::string_view cell) {
  const ValueColumn& column = columns_[index];
  if (column.targets.empty() || cell.empty()) return std::nullopt;
  switch (column.kind) {
    case ValueKind::kAnalogue:
      return take_voltage(column, time, cell);
    case ValueKind::kWords:
      return take_word(column, time, cell);
    case ValueKind::kLevels:
      break;
  }
  const auto level = column.words.parse(cell);
  if (!level) {
    return refused(column, cell, column.words.expected(),
                   level_hint_for(cell, column.mark));
  }
  take_level(column.targets[0].slot, time, level_of(*level));
  return std::nullopt;
}

void CsvValues::break_off(Ticks from) {
  for (PieceChannelBuilder& builder : builders_) {
    builder.add(from, Level::kUnknown);
  }
  forget_samples();
}

void CsvValues::forget_samples() {
  for (AnalogueTrack& track : tracks_) track.break_off();
}

std::optional<Error> CsvValues::take_voltage(const ValueColumn& column,
                                             Ticks time,
                                             std::string_view cell) {
  const auto value = analogue_value(cell, column.mark, column.analogue.place);
  if (!value) return refuse_voltage(column, cell);
  const auto event = tracks_[column.track].take(column.analogue, time, *value);
  if (event) take_level(column.targets[0].slot, event->time, event->level);
  return std::nullopt;
}

std::optional<Error> CsvValues::take_word(const ValueColumn& column, Ticks time,
                                          std::string_view cell) {
  const auto word = parse_word(cell, column.radix);
  if (!word) {
    std::string hint = no_word_hint(cell);
    if (hint.empty()) hint = kOtherWordsHint;
    return refused(column, cell, expected_word(column.radix), std::move(hint));
  }
  if (column.radix == 2 && !column.prefixed && may_be_prefix_or_bits(cell)) {
    return refused(column, cell,
                   "a word of which is clear whether 0x states base 16 or is "
                   "two bits",
                   "write 0b in front if its digits are bits");
  }
  if (column.declared_width && *column.declared_width < kMostWordBits &&
      word->bits >> *column.declared_width != 0) {
    return refuse_width(column, cell, *word);
  }
  for (const ValueTarget& target : column.targets) {
    take_level(target.slot, time, word->level(target.bit));
  }
  return std::nullopt;
}

std::vector<std::int64_t> CsvValues::save() const {
  std::vector<std::int64_t> held;
  for (const AnalogueTrack& track : tracks_) track.save(held);
  return held;
}

std::vector<PieceChannel> CsvValues::finish() {
  std::vector<PieceChannel> channels;
  for (PieceChannelBuilder& builder : builders_) {
    channels.push_back(builder.finish());
  }
  return channels;
}

Closing close_values(std::span<const ValueColumn> columns, std::size_t channels,
                     std::span<const std::int64_t> held) {
  Closing closing;
  if (!has_analogue(columns)) return closing;
  const auto tracks = load_tracks(count_tracks(columns), held);
  closing.channels.resize(channels);
  for (const ValueColumn& column : columns) {
    if (column.kind != ValueKind::kAnalogue) continue;
    const AnalogueTrack& track = tracks[column.track];
    closing.channels[column.targets[0].slot].longest_step =
        track.longest_step();
    if (track.has_turned()) warn_of_threshold(column, track, closing);
    if (track.has_turned() || track.empty()) continue;
    const auto text = [&](Int128 value) {
      return analogue_text(value, column.analogue.place);
    };
    const std::string reason =
        "the column " + shown_text(column.name) + " lies between " +
        text(track.least()) + " and " + text(track.greatest()) +
        " and never turns at " + text(column.analogue.threshold) +
        " with a hysteresis of " + text(column.analogue.hysteresis) +
        "; if it holds a clock, state another threshold";
    closing.channels[column.targets[0].slot].never_turns = reason;
    closing.warnings.push_back({WarningCode::kThresholdNotCrossed, reason});
  }
  return closing;
}

bool may_be_cut(const ValueColumn& column, std::string_view cell) {
  if (column.targets.empty()) return false;
  switch (column.kind) {
    case ValueKind::kLevels:
      return !column.words.parse(cell) || column.words.may_be_cut(cell);
    case ValueKind::kAnalogue:
      return !analogue_value(cell, column.mark, column.analogue.place) ||
             cell.size() != column.fixed_size;
    case ValueKind::kWords:
      return !parse_word(cell, column.radix) ||
             cell.size() != column.fixed_size;
  }
  return false;
}

}  // namespace clockassay
