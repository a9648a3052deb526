// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_value_columns.h"

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include "capture/channel_selection.h"
#include "capture/csv_column_fact.h"
#include "capture/csv_column_look.h"
#include "capture/csv_voltage_unit.h"
#include "capture/csv_word.h"
#include "capture/csv_word_bus.h"
#include "capture/name_list.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// A channel that is to be delivered.
struct Delivery {
  std::size_t column = 0;
  std::optional<int> bit;
  std::string name;
  std::vector<std::string> asked;
};

// Decides about the columns of one file, one step after the other.
class ColumnReader {
 public:
  ColumnReader(const std::vector<FirstCells>& columns, char mark,
               const ReadOptions& options, Layout& layout)
      : columns_(columns), mark_(mark), options_(options), layout_(layout) {
    for (const FirstCells& column : columns) {
      seen_.push_back(look_at_column(column, mark, options.csv.levels));
      names_.push_back(column.name);
    }
  }

  Result<std::vector<ValueColumn>> read();

 private:
  bool is_analogue(std::size_t i) const;
  bool is_wordy(std::size_t i) const;
  bool is_logic(std::size_t i) const;
  std::optional<int> radix_of(std::size_t i) const;
  int width_of(std::size_t i, int radix) const;
  std::optional<Error> refuse_no_word(std::size_t i) const;
  Result<void> find_requested_buses();
  void list_channels();
  Result<void> select();
  Result<void> deliver();
  Result<void> plan_voltages(std::size_t i);
  tl::unexpected<Error> refuse(std::size_t i, Error error) const;
  void warn_of_unread();
  void warn_of_unused();
  void warn_of_duplicates();

  const std::vector<FirstCells>& columns_;
  char mark_;
  const ReadOptions& options_;
  Layout& layout_;
  std::vector<ColumnAppearance> seen_;
  std::vector<std::string> names_;  // of the columns
  // What can be asked for, and which column each is.
  std::vector<std::string> channels_;
  std::vector<std::size_t> channel_columns_;
  std::vector<BusName> buses_;
  std::vector<std::size_t> bus_columns_;
  std::vector<Delivery> deliveries_;
  std::vector<ValueColumn> read_;
  std::vector<std::size_t> unread_;
};

tl::unexpected<Error> ColumnReader::refuse(std::size_t i, Error error) const {
  const auto odd = seen_[i].first_odd;
  const auto& cells = columns_[i].cells;
  const std::size_t at = odd.value_or(0);
  if (at < cells.size()) {
    error.byte = static_cast<std::int64_t>(cells[at].byte);
  }
  return tl::unexpected<Error>(std::move(error));
}

// Whether the column is to be read as voltages.
bool ColumnReader::is_analogue(std::size_t i) const {
  const ColumnAppearance& seen = seen_[i];
  if (!options_.analogue || seen.leading_zeros) return false;
  switch (seen.look) {
    case ColumnLook::kNumbers:
    case ColumnLook::kPair:
    case ColumnLook::kText:  // a cell that is no number is refused there
      return seen.mostly_numbers;
    case ColumnLook::kIntegers:
      return seen.mostly_numbers && !options_.csv.radix;
    case ColumnLook::kLevels:
    case ColumnLook::kWords:
      break;
  }
  return false;
}

// Whether the column holds words, whose base is known.
bool ColumnReader::is_wordy(std::size_t i) const {
  return seen_[i].look == ColumnLook::kWords ||
         (seen_[i].look == ColumnLook::kIntegers &&
          options_.csv.radix.has_value());
}

// Once it is decided how the columns are read.
bool ColumnReader::is_logic(std::size_t i) const {
  if (read_[i].kind != ValueKind::kLevels) {
    return read_[i].kind == ValueKind::kWords;
  }
  const ColumnLook look = seen_[i].look;
  return look == ColumnLook::kLevels || look == ColumnLook::kPair ||
         look == ColumnLook::kWords;
}

std::optional<int> ColumnReader::radix_of(std::size_t i) const {
  if (options_.csv.radix) return options_.csv.radix;
  if (seen_[i].look != ColumnLook::kWords) return std::nullopt;
  // Each cell has its prefix; the first one's serves for what has none.
  return word_prefix_radix(columns_[i].cells[*seen_[i].first_odd].text);
}

int ColumnReader::width_of(std::size_t i, int radix) const {
  int width = 1;
  for (const FirstCell& cell : columns_[i].cells) {
    const auto word = parse_word(cell.text, radix);
    if (word) width = std::max(width, word->width);
  }
  return width;
}

// The first cell that is no word, of a column of which a bit is asked for: one
// in a form that is not read, or any that is none in the base that is stated.
std::optional<Error> ColumnReader::refuse_no_word(std::size_t i) const {
  const auto radix = radix_of(i);
  for (const FirstCell& cell : columns_[i].cells) {
    std::string hint = no_word_hint(cell.text);
    std::string expected = "a word of digits";
    if (hint.empty()) {
      if (!radix || cell.text.empty() || parse_word(cell.text, *radix)) {
        continue;
      }
      expected = expected_word(*radix);
      hint = kOtherWordsHint;
    }
    Error error{ErrorCode::kBadData,
                "found " + shown_text(cell.text) + " in the column " +
                    shown_text(names_[i]) + ", expected " + expected,
                std::move(hint)};
    error.byte = static_cast<std::int64_t>(cell.byte);
    return error;
  }
  return std::nullopt;
}

// Columns that are not known to hold words, of which a bit is asked for:
// name[3] where no column is called that, but one is called name.
Result<void> ColumnReader::find_requested_buses() {
  const std::vector<std::string>& asked = options_.channels;
  std::vector<std::string> bases;
  for (const std::string& wanted : asked) {
    bases.emplace_back(name_before_index(wanted));
  }
  const auto whole = channels_matching_each(channels_, asked);
  const auto by_base = channels_matching_each(channels_, bases);
  std::vector<std::string> bus_names;
  for (const std::string& name : channels_) {
    bus_names.push_back(bus_of(name, 1).name);
  }
  const auto by_bus = channels_matching_each(bus_names, bases);
  for (std::size_t a = 0; a < asked.size(); ++a) {
    const std::string& wanted = asked[a];
    const auto& found = by_base[a].empty() ? by_bus[a] : by_base[a];
    if (bases[a].empty() || !whole[a].empty() || found.size() != 1) continue;
    const std::size_t i = channel_columns_[found[0]];
    if (std::find(bus_columns_.begin(), bus_columns_.end(), i) !=
        bus_columns_.end()) {
      continue;  // another bit of it was asked for
    }
    if (auto error = refuse_no_word(i)) {
      return tl::unexpected<Error>(std::move(*error));
    }
    const ColumnLook look = seen_[i].look;
    if (!radix_of(i) &&
        (look == ColumnLook::kNumbers || look == ColumnLook::kText)) {
      continue;
    }
    if (!radix_of(i)) {
      return refuse(i, {ErrorCode::kBadData,
                        "found the bit " + shown_text(wanted) +
                            " asked for, of words that do not say their base",
                        "say the base with " + radix_option(seen_[i])});
    }
    buses_.push_back(bus_of(names_[i], kMostWordBits));
    bus_columns_.push_back(i);
  }
  return {};
}

void ColumnReader::list_channels() {
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    if (is_wordy(i)) {
      buses_.push_back(bus_of(names_[i], width_of(i, *radix_of(i))));
      bus_columns_.push_back(i);
      layout_.channel_names.push_back(buses_.back().whole());
    } else {
      channels_.push_back(names_[i]);
      channel_columns_.push_back(i);
      layout_.channel_names.push_back(names_[i]);
    }
  }
}

// Which channels are to be delivered, in the order of the columns.
Result<void> ColumnReader::select() {
  const auto requested = find_requested_buses();
  if (!requested) return requested;
  auto selection = select_channels(channels_, options_.channels,
                                   options_.skip_missing_channels, buses_);
  if (!selection) return tl::unexpected<Error>(selection.error());
  layout_.missing = std::move(selection->missing);
  const bool all = options_.channels.empty();
  for (std::size_t c = 0; c < channels_.size(); ++c) {
    if (!all && selection->asked[c].empty()) continue;
    deliveries_.push_back({channel_columns_[c], std::nullopt, channels_[c],
                           std::move(selection->asked[c])});
  }
  for (ChosenBit& bit : selection->bits) {
    deliveries_.push_back({bus_columns_[bit.bus], static_cast<int>(bit.place),
                           std::move(bit.name), std::move(bit.asked)});
  }
  for (const std::size_t i : bus_columns_) {
    if (all) deliveries_.push_back({i, std::nullopt, names_[i], {}});
  }
  std::stable_sort(deliveries_.begin(), deliveries_.end(),
                   [](const Delivery& a, const Delivery& b) {
                     return std::pair(a.column, a.bit) <
                            std::pair(b.column, b.bit);
                   });
  return {};
}

Result<void> ColumnReader::deliver() {
  const auto is_level = [this](std::size_t i) {
    return seen_[i].look == ColumnLook::kLevels || is_analogue(i);
  };
  bool any_level = false;
  for (std::size_t i = 0; i < columns_.size(); ++i) any_level |= is_level(i);
  for (Delivery& what : deliveries_) {
    const std::size_t i = what.column;
    const ColumnAppearance& seen = seen_[i];
    if (!what.bit && !is_level(i)) {
      const bool like_levels =
          seen.look == ColumnLook::kPair ||
          (seen.look == ColumnLook::kText && seen.some_levels);
      if (!what.asked.empty() || like_levels || !any_level) {
        ColumnAppearance as = seen;
        if (is_wordy(i)) as.look = ColumnLook::kWords;  // only a bit is missing
        return refuse(i, refuse_look(columns_[i], as, mark_));
      }
      unread_.push_back(i);
      continue;
    }
    ValueColumn& column = read_[i];
    if (what.bit && !column.targets.empty() &&
        column.kind != ValueKind::kWords) {
      return failure(ErrorCode::kUsage,
                     "found the column " + shown_text(names_[i]) +
                         " asked for both as a whole and by a bit",
                     "name one or the other with --channel");
    }
    if (what.bit) {
      column.kind = ValueKind::kWords;
      column.radix = *radix_of(i);
      column.prefixed = seen.look == ColumnLook::kWords;
      column.declared_width = declared_width(names_[i]);
    } else if (is_analogue(i)) {
      column.kind = ValueKind::kAnalogue;
      const auto planned = plan_voltages(i);
      if (!planned) return planned;
    } else {
      column.words = seen.words;
    }
    column.targets.push_back({layout_.selected.size(), what.bit.value_or(0)});
    layout_.selected.push_back({std::move(what.name), std::move(what.asked),
                                column.kind == ValueKind::kAnalogue});
    layout_.understanding.facts.push_back(
        column_fact(columns_[i], column, options_));
  }
  return {};
}

Result<void> ColumnReader::plan_voltages(std::size_t i) {
  std::vector<std::string_view> cells;
  for (const FirstCell& cell : columns_[i].cells) {
    if (scan_decimal<Int128>(cell.text, mark_)) cells.push_back(cell.text);
  }
  const auto converted =
      in_unit_of_column(*options_.analogue, columns_[i].volt_exponent);
  if (!converted) return tl::unexpected<Error>(converted.error());
  const AnalogueOptions& options = *converted;
  const int place = analogue_place(cells, mark_, options.threshold);
  std::vector<Int128> values;
  for (std::string_view cell : cells) {
    const auto value = analogue_value(cell, mark_, place);
    if (value) values.push_back(*value);
  }
  if (values.empty()) values.push_back(0);  // the rows say what is wrong
  const AnalogueSwing swing = analogue_swing(std::move(values), place);
  auto scale = plan_analogue(swing, options);
  if (!scale) {
    Error error = scale.error();
    error.message += ", in the column " + shown_text(names_[i]);
    if (error.code == ErrorCode::kUsage) {
      return tl::unexpected<Error>(std::move(error));
    }
    return refuse(i, std::move(error));
  }
  read_[i].analogue = *scale;
  if (!scale->automatic_threshold) return {};
  const auto text = [&](Int128 value) { return analogue_text(value, place); };
  layout_.warnings.push_back(
      {WarningCode::kThresholdAutomatic,
       "the column " + shown_text(names_[i]) + " turns at " +
           text(scale->threshold) + " with a hysteresis of " +
           text(scale->hysteresis) +
           ", by its first rows, which are low about " + text(swing.low) +
           " and high about " + text(swing.high) +
           "; state both with --threshold VOLTS,HYSTERESIS"});
  return {};
}

void ColumnReader::warn_of_unread() {
  if (unread_.empty()) return;
  std::string list;
  for (const std::size_t i : unread_) {
    list += (list.empty() ? "" : ", ") + shown_text(names_[i]);
  }
  layout_.warnings.push_back(
      {WarningCode::kColumnsNotRead,
       "not read, since they hold no levels: " + list +
           "; to read one, name it with --channel, and an error says which "
           "option it needs"});
  layout_.understanding.facts.push_back(
      {"columns not read", list, "their first cells are no levels"});
}

// Where no column that is read is a voltage, a threshold decides nothing.
void ColumnReader::warn_of_unused() {
  if (!options_.analogue || layout_.selected.empty() || has_analogue(read_)) {
    return;
  }
  layout_.warnings.push_back(
      {WarningCode::kOptionUnused,
       "--threshold was not used: no column that is read holds voltages, only "
       "levels or words"});
}

void ColumnReader::warn_of_duplicates() {
  std::map<std::string_view, int> count;
  for (const SelectedChannel& channel : layout_.selected) ++count[channel.name];
  std::vector<std::string_view> several;
  for (const auto& [name, columns] : count) {
    if (columns > 1) several.push_back(name);
  }
  if (several.empty()) return;
  layout_.warnings.push_back(
      {WarningCode::kDuplicateNames,
       several.size() == 1
           ? "more than one column is named " + listed_names(several)
           : std::to_string(several.size()) +
                 " names are each that of more than one column: " +
                 listed_names(several)});
}

Result<std::vector<ValueColumn>> ColumnReader::read() {
  for (const FirstCells& cells : columns_) {
    ValueColumn column;
    column.name = cells.name;
    column.mark = mark_;
    for (const FirstCell& cell : cells.cells) {
      if (&cell == &cells.cells.front()) column.fixed_size = cell.text.size();
      if (cell.text.size() != column.fixed_size) column.fixed_size = 0;
    }
    read_.push_back(std::move(column));
  }
  list_channels();
  const auto selected = select();
  if (!selected) return tl::unexpected<Error>(selected.error());
  const auto delivered = deliver();
  if (!delivered) return tl::unexpected<Error>(delivered.error());
  warn_of_unread();
  warn_of_unused();
  warn_of_duplicates();
  std::size_t tracks = 0;
  for (std::size_t i = 0; i < read_.size(); ++i) {
    ValueColumn& column = read_[i];
    if (column.kind == ValueKind::kAnalogue) column.track = tracks++;
    column.logic = is_logic(i);
  }
  return std::move(read_);
}

}  // namespace

bool has_analogue(std::span<const ValueColumn> columns) {
  return std::any_of(columns.begin(), columns.end(), [](const ValueColumn& c) {
    return c.kind == ValueKind::kAnalogue;
  });
}

Result<std::vector<ValueColumn>> read_value_columns(
    const std::vector<FirstCells>& columns, char mark,
    const ReadOptions& options, Layout& layout) {
  return ColumnReader(columns, mark, options, layout).read();
}

}  // namespace clockassay
