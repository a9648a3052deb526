// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_value_columns.h"

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <optional>
#include <utility>

#include "capture/channel_selection.h"
#include "capture/csv_column_look.h"
#include "capture/csv_word.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

std::optional<int> whole_number(std::string_view text) {
  int value = 0;
  const auto end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (read.ec != std::errc() || read.ptr != end || value < 0) {
    return std::nullopt;
  }
  return value;
}

// A name and what stands in the brackets at its end.
struct SelectedName {
  std::string_view base;
  std::string_view select;  // "3", "15:8"; empty without brackets
};

SelectedName split_select(std::string_view name) {
  const std::size_t open = name.rfind('[');
  if (!name.ends_with(']') || open == std::string_view::npos) return {name, {}};
  std::string_view base = name.substr(0, open);
  while (base.ends_with(' ')) base.remove_suffix(1);
  return {base, name.substr(open + 1, name.size() - open - 2)};
}

// The numbers of the bits of a word, from the last digit's lowest on.
struct BitNumbers {
  int first = 0;
  int step = 1;
  std::optional<int> width;  // stated by a range in the name

  std::optional<int> bit_of(int number) const {
    const int bit = (number - first) * step;
    if (bit < 0 || bit >= width.value_or(kMostWordBits)) return std::nullopt;
    return bit;
  }
};

BitNumbers bit_numbers(std::string_view column_name) {
  const std::string_view select = split_select(column_name).select;
  const std::size_t colon = select.find(':');
  if (colon == std::string_view::npos) return {};
  const auto left = whole_number(select.substr(0, colon));
  const auto right = whole_number(select.substr(colon + 1));
  if (!left || !right || std::abs(*left - *right) >= kMostWordBits) return {};
  return {*right, *left >= *right ? 1 : -1, std::abs(*left - *right) + 1};
}

std::string bit_name(std::string_view column_name, int number) {
  return std::string(split_select(column_name).base) + "[" +
         std::to_string(number) + "]";
}

// A name that can be asked for, and what it means.
struct Candidate {
  std::size_t column = 0;
  std::optional<int> bit;
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
  std::optional<int> radix_of(std::size_t i) const;
  int width_of(std::size_t i, int radix) const;
  Result<void> list_candidates();
  Result<void> find_requested_bits();
  Result<void> choose();
  Result<void> deliver(std::size_t candidate, std::vector<std::string> asked);
  Result<void> plan_voltages(std::size_t i);
  tl::unexpected<Error> refuse(std::size_t i, Error error) const;
  void say_how(std::size_t i);
  void warn_of_unread();
  void warn_of_duplicates();

  const std::vector<FirstCells>& columns_;
  char mark_;
  const ReadOptions& options_;
  Layout& layout_;
  std::vector<ColumnAppearance> seen_;
  std::vector<std::string> names_;  // of the columns
  std::vector<Candidate> candidates_;
  std::vector<std::string> candidate_names_;
  std::vector<std::pair<std::size_t, int>> requested_;  // column, number
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
  return bit_numbers(columns_[i].name).width.value_or(width);
}

// Bits asked for of columns that are not known to be words: name[3] where no
// column is called that, but one is called name.
Result<void> ColumnReader::find_requested_bits() {
  for (const std::string& wanted : options_.channels) {
    const SelectedName name = split_select(wanted);
    const auto number = whole_number(name.select);
    if (!number || !matching_channels(names_, wanted).empty()) continue;
    const auto found = matching_channels(names_, name.base);
    if (found.size() != 1 || is_wordy(found[0])) continue;
    const std::size_t i = found[0];
    const ColumnLook look = seen_[i].look;
    if (look == ColumnLook::kNumbers || look == ColumnLook::kText) continue;
    if (!radix_of(i)) {
      return refuse(i, {ErrorCode::kBadData,
                        "found bit " + std::to_string(*number) +
                            " of the column " + shown_text(names_[i]) +
                            " asked for, whose words do not say their base",
                        "say the base with --radix 2, 10 or 16"});
    }
    requested_.emplace_back(i, *number);
  }
  return {};
}

Result<void> ColumnReader::list_candidates() {
  const auto requested = find_requested_bits();
  if (!requested) return requested;
  const auto add = [this](std::size_t column, std::optional<int> bit,
                          std::string name) {
    candidates_.push_back({column, bit});
    candidate_names_.push_back(std::move(name));
  };
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    const BitNumbers numbers = bit_numbers(names_[i]);
    add(i, std::nullopt, names_[i]);
    if (!is_wordy(i)) {
      layout_.channel_names.push_back(names_[i]);
      for (const auto& [column, number] : requested_) {
        const auto bit = numbers.bit_of(number);
        if (column == i && bit) add(i, bit, bit_name(names_[i], number));
      }
      continue;
    }
    const int width = width_of(i, *radix_of(i));
    for (int bit = 0; bit < width; ++bit) {
      const std::string name =
          bit_name(names_[i], numbers.first + bit * numbers.step);
      add(i, bit, name);
      layout_.channel_names.push_back(name);
    }
  }
  return {};
}

// Which candidates become channels.
Result<void> ColumnReader::choose() {
  auto selection = select_channels(candidate_names_, options_.channels,
                                   options_.skip_missing_channels);
  if (!selection) return tl::unexpected<Error>(selection.error());
  layout_.missing = std::move(selection->missing);
  const bool all = options_.channels.empty();
  bool any_read = false;
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    any_read |= seen_[i].look == ColumnLook::kLevels || is_analogue(i);
  }
  for (std::size_t c = 0; c < candidates_.size(); ++c) {
    const std::size_t i = candidates_[c].column;
    const ColumnLook look = seen_[i].look;
    const bool readable =
        candidates_[c].bit || look == ColumnLook::kLevels || is_analogue(i);
    const bool asked = !selection->asked[c].empty();
    if (!asked && (!all || candidates_[c].bit)) continue;
    const bool like_levels =
        look == ColumnLook::kPair ||
        (look == ColumnLook::kText && seen_[i].some_levels);
    if (!readable && (asked || like_levels || !any_read)) {
      return refuse(i, refuse_look(columns_[i], seen_[i], mark_));
    }
    if (!readable) {
      unread_.push_back(i);
      continue;
    }
    const auto delivered = deliver(c, std::move(selection->asked[c]));
    if (!delivered) return delivered;
  }
  return {};
}

Result<void> ColumnReader::deliver(std::size_t candidate,
                                   std::vector<std::string> asked) {
  const Candidate& what = candidates_[candidate];
  const std::size_t i = what.column;
  ValueColumn& column = read_[i];
  if (what.bit) {
    column.kind = ValueKind::kWords;
    column.radix = *radix_of(i);
  } else if (is_analogue(i)) {
    column.kind = ValueKind::kAnalogue;
    const auto planned = plan_voltages(i);
    if (!planned) return planned;
  } else {
    column.words = seen_[i].words;
  }
  column.targets.push_back({layout_.selected.size(), what.bit.value_or(0)});
  layout_.selected.push_back({candidate_names_[candidate], std::move(asked),
                              column.kind == ValueKind::kAnalogue});
  say_how(i);
  return {};
}

Result<void> ColumnReader::plan_voltages(std::size_t i) {
  std::vector<std::string_view> cells;
  for (const FirstCell& cell : columns_[i].cells) {
    if (scan_decimal<Int128>(cell.text, mark_)) cells.push_back(cell.text);
  }
  const AnalogueOptions& options = *options_.analogue;
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

void ColumnReader::say_how(std::size_t i) {
  const ValueColumn& column = read_[i];
  ReadingFact fact;
  fact.topic = "column " + shown_text(column.name);
  switch (column.kind) {
    case ValueKind::kLevels: {
      const auto& stated = options_.csv.levels;
      const bool told = stated && column.words.expected() ==
                                      LevelWords(stated, mark_).expected();
      fact.found = "levels";
      fact.because = told ? "--levels " + stated->first + "," + stated->second
                          : "all of its first " +
                                std::to_string(columns_[i].cells.size()) +
                                " cells are";
      break;
    }
    case ValueKind::kAnalogue: {
      const AnalogueScale& scale = column.analogue;
      const auto text = [&](Int128 value) {
        return analogue_text(value, scale.place);
      };
      fact.found = "voltages, which turn at " + text(scale.threshold) +
                   " with a hysteresis of " + text(scale.hysteresis);
      fact.because = scale.automatic_threshold ? "by its first rows"
                     : scale.automatic_hysteresis
                         ? "--threshold, and the hysteresis a "
                           "tenth of the swing of its first rows"
                         : "--threshold";
      break;
    }
    case ValueKind::kWords:
      fact.found = "bit " + std::to_string(column.targets.back().bit) +
                   " of words in base " + std::to_string(column.radix);
      fact.because = options_.csv.radix ? "--radix" : "the prefix of its cells";
      break;
  }
  layout_.understanding.facts.push_back(std::move(fact));
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

void ColumnReader::warn_of_duplicates() {
  const auto& selected = layout_.selected;
  for (std::size_t i = 0; i < selected.size(); ++i) {
    const auto rest = selected.begin() + static_cast<std::ptrdiff_t>(i) + 1;
    if (std::any_of(rest, selected.end(), [&](const SelectedChannel& other) {
          return other.name == selected[i].name;
        })) {
      layout_.warnings.push_back(
          {WarningCode::kDuplicateNames,
           "more than one column is named " + shown_text(selected[i].name)});
    }
  }
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
  const auto listed = list_candidates();
  if (!listed) return tl::unexpected<Error>(listed.error());
  const auto chosen = choose();
  if (!chosen) return tl::unexpected<Error>(chosen.error());
  warn_of_unread();
  warn_of_duplicates();
  std::size_t tracks = 0;
  for (ValueColumn& column : read_) {
    if (column.kind == ValueKind::kAnalogue) column.track = tracks++;
  }
  return std::move(read_);
}

}  // namespace

Result<std::vector<ValueColumn>> read_value_columns(
    const std::vector<FirstCells>& columns, char mark,
    const ReadOptions& options, Layout& layout) {
  return ColumnReader(columns, mark, options, layout).read();
}

}  // namespace clockassay
