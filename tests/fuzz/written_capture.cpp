// SPDX-License-Identifier: GPL-3.0-or-later
#include "fuzz/written_capture.h"

#include <algorithm>

namespace clockassay::test {
namespace {

// Most rows of a capture. Chosen: longer ones are analysed no otherwise.
constexpr std::size_t kMostRows = 256;

constexpr std::size_t kChoiceBytes = 4;

std::int64_t power_of_ten(int exponent) {
  std::int64_t value = 1;
  for (; exponent > 0; --exponent) value *= 10;
  return value;
}

// Up to 47 as it is, then powers of two up to 2^44: with all rows below 2^54.
std::int64_t step_of(unsigned code) {
  constexpr unsigned kPlain = 48;
  return code < kPlain ? code : std::int64_t{1} << (code - kPlain + 1) * 14 / 5;
}

char toggled(char level) {
  return level == '1' ? '0' : '1';
}

// Two bits say what changes, six how long after the row before.
WrittenRow row_after(const WrittenRow& before, std::uint8_t byte) {
  WrittenRow row = before;
  row.time += step_of(byte >> 2);
  const unsigned what = byte & 3;
  if (what == 0 || what == 2) row.levels[0] = toggled(row.levels[0]);
  if (what == 1 || what == 2) row.levels[1] = toggled(row.levels[1]);
  if (what == 3) row.levels[byte >> 2 & 1] = 'x';
  return row;
}

CsvLook csv_look(std::uint8_t first, std::uint8_t second, int exponent) {
  constexpr char kSeparators[] = {',', ';', '\t', '|'};
  CsvLook look;
  look.separator = kSeparators[first & 3];
  if (look.separator != ',' && (first & 4) != 0) look.mark = ',';
  look.long_form = (first & 8) != 0;
  look.leaves_out = (first & 16) != 0;
  // s, ms … fs, but none that is finer than a tick.
  look.unit = std::max(-3 * (second & 7), exponent);
  look.unit = look.unit / 3 * 3;
  return look;
}

std::string decimal(std::int64_t ticks, int decimals, char mark) {
  std::string digits = std::to_string(ticks);
  const auto places = static_cast<std::size_t>(decimals);
  if (places == 0) return digits;
  if (digits.size() <= places)
    digits.insert(0, places + 1 - digits.size(), '0');
  digits.insert(digits.size() - places, 1, mark);
  return digits;
}

std::string unit_name(int exponent) {
  constexpr const char* kNames[] = {"s", "ms", "us", "ns", "ps", "fs"};
  return kNames[-exponent / 3];
}

// 10^exponent seconds as VCD says it: 1, 10 or 100 of a unit.
std::string timescale(int exponent) {
  const int unit = -(-exponent + 2) / 3 * 3;
  return std::to_string(power_of_ten(exponent - unit)) + " " + unit_name(unit);
}

// Groups of rows of one time: the last row of each.
std::vector<WrittenRow> settled(const WrittenCapture& capture) {
  std::vector<WrittenRow> rows;
  for (const WrittenRow& row : capture.rows) {
    if (!rows.empty() && rows.back().time == row.time) rows.pop_back();
    rows.push_back(row);
  }
  return rows;
}

}  // namespace

std::optional<WrittenCapture> written_capture(const std::uint8_t* data,
                                              std::size_t size) {
  if (size < kChoiceBytes) return std::nullopt;
  // Where a capture starts, in ticks.
  constexpr std::int64_t kStarts[] = {0, 1, 999, (std::int64_t{1} << 53) + 1};
  constexpr char kLevels[] = {'0', '1', 'x', '0'};
  WrittenCapture capture;
  capture.exponent = -(data[0] & 15);
  capture.channels = 1 + (data[0] >> 4 & 1);
  capture.repeats_levels = (data[0] & 32) != 0;
  capture.csv = csv_look(data[1], data[2], capture.exponent);
  if ((data[2] & 8) != 0) capture.rate_hz = power_of_ten(-capture.exponent);
  capture.expected_off = data[2] >> 6;
  WrittenRow row;
  row.time = kStarts[data[2] >> 4 & 3];
  row.levels = {kLevels[data[3] & 3], kLevels[data[3] >> 2 & 3]};
  capture.rows.push_back(row);
  // The same changes again and again make a clock.
  const unsigned times = 1U << (data[3] >> 4 & 7);
  for (unsigned i = 0; i < times; ++i) {
    for (std::size_t at = kChoiceBytes; at < size; ++at) {
      if (capture.rows.size() >= kMostRows) break;
      row = row_after(row, data[at]);
      capture.rows.push_back(row);
    }
  }
  ++row.time;  // the last stamp
  capture.rows.push_back(row);
  return capture;
}

std::string as_vcd(const WrittenCapture& capture) {
  std::string text;
  if (capture.rate_hz) {
    text += "$comment sample rate: " + std::to_string(*capture.rate_hz) +
            " Hz $end\n";
  }
  text += "$timescale " + timescale(capture.exponent) + " $end\n";
  constexpr char kIds[] = {'!', '%'};
  for (std::size_t c = 0; c < capture.channels; ++c) {
    text += std::string("$var wire 1 ") + kIds[c] + " " +
            static_cast<char>('a' + c) + " $end\n";
  }
  text += "$enddefinitions $end\n";
  const WrittenRow* before = nullptr;
  for (const WrittenRow& row : capture.rows) {
    text += "#" + std::to_string(row.time) + "\n";
    for (std::size_t c = 0; c < capture.channels; ++c) {
      const bool is_new =
          before == nullptr || before->levels[c] != row.levels[c];
      if (!is_new && !capture.repeats_levels) continue;
      text += std::string(1, row.levels[c]) + kIds[c] + "\n";
    }
    before = &row;
  }
  return text;
}

std::string as_csv(const WrittenCapture& capture) {
  const CsvLook& look = capture.csv;
  const std::string separator(1, look.separator);
  std::string text;
  if (capture.rate_hz) {
    text += "# sample rate: " + std::to_string(*capture.rate_hz) + " Hz\n";
  }
  text += "time_" + unit_name(look.unit);
  if (look.long_form) text += separator + "channel" + separator + "value";
  for (std::size_t c = 0; c < capture.channels && !look.long_form; ++c) {
    text += separator + static_cast<char>('a' + c);
  }
  text += "\n";
  const WrittenRow* before = nullptr;
  for (const WrittenRow& row : capture.rows) {
    const bool is_end = &row == &capture.rows.back();
    const std::string time =
        decimal(row.time, look.unit - capture.exponent, look.mark);
    if (!look.long_form) text += time;
    for (std::size_t c = 0; c < capture.channels; ++c) {
      const std::string level(1, row.levels[c]);
      const bool is_new = before == nullptr || is_end ||
                          before->levels[c] != row.levels[c] ||
                          !look.leaves_out;
      if (!look.long_form) {
        text += separator + (is_new ? level : "");
      } else if (is_new) {
        text += time + separator + static_cast<char>('a' + c) + separator +
                level + "\n";
      }
    }
    if (!look.long_form) text += "\n";
    before = &row;
  }
  return text;
}

ReadOptions csv_options(const WrittenCapture& capture) {
  ReadOptions options;
  options.format = "csv";
  options.csv.separator = capture.csv.separator;
  options.csv.decimal_mark = capture.csv.mark;
  options.csv.rows =
      capture.csv.long_form ? CsvRows::kEvents : CsvRows::kChanges;
  options.csv.tick_s = Rational::make(1, power_of_ten(-capture.exponent));
  return options;
}

std::vector<LevelEvent> true_edges(const WrittenCapture& capture,
                                   std::size_t channel) {
  std::vector<LevelEvent> edges;
  char before = 'x';
  for (const WrittenRow& row : settled(capture)) {
    const char level = row.levels[channel];
    if (before != 'x' && level != 'x' && level != before) {
      edges.push_back(
          {Ticks(row.time), level == '1' ? Level::kHigh : Level::kLow});
    }
    before = level;
  }
  return edges;
}

std::optional<Rational> mean_frequency(const WrittenCapture& capture,
                                       std::size_t channel) {
  std::vector<std::int64_t> rises;
  for (const LevelEvent& edge : true_edges(capture, channel)) {
    if (edge.level == Level::kHigh) rises.push_back(edge.time.count());
  }
  if (rises.size() < 2) return std::nullopt;
  const auto cycles = static_cast<std::int64_t>(rises.size()) - 1;
  return Rational::make(Int128{cycles} * power_of_ten(-capture.exponent),
                        rises.back() - rises.front());
}

}  // namespace clockassay::test
