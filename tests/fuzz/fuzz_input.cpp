// SPDX-License-Identifier: GPL-3.0-or-later
#include "fuzz/fuzz_input.h"

#include <string>

#include "clockassay/analysis/analyse.h"
#include "fuzz/check_reports.h"
#include "fuzz/require.h"
#include "support/reading_oracle.h"

namespace clockassay::test {
namespace {

// Most edges a capture is analysed with. Chosen: reading is what is fuzzed.
constexpr std::size_t kMostEdges = 2'000;

// One of the choices, the first for 0.
template <class T, std::size_t N>
const T& chosen(const T (&choices)[N], unsigned byte) {
  return choices[byte % N];
}

CsvOptions csv_options(const std::uint8_t* choice) {
  using Name = const char*;
  constexpr std::optional<char> kSeparators[] = {{}, ',', ';', '\t', '|', ' '};
  constexpr std::optional<char> kMarks[] = {{}, '.', ','};
  constexpr std::optional<CsvRows> kRows[] = {
      {}, CsvRows::kChanges, CsvRows::kSamples, CsvRows::kEvents};
  constexpr std::optional<LoneEdges> kEdges[] = {{},
                                                 LoneEdges::kRising,
                                                 LoneEdges::kBothRiseFirst,
                                                 LoneEdges::kBothFallFirst};
  constexpr std::optional<CsvTimeUnit> kUnits[] = {{},
                                                   CsvTimeUnit{false, 0},
                                                   CsvTimeUnit{false, -3},
                                                   CsvTimeUnit{false, -6},
                                                   CsvTimeUnit{false, -9},
                                                   CsvTimeUnit{false, -12},
                                                   CsvTimeUnit{false, -15},
                                                   CsvTimeUnit{true, 0}};
  constexpr Name kTimeColumns[] = {"", "1", "2", "none", "time", "99"};
  constexpr std::optional<int> kRadixes[] = {{}, 2, 10, 16};
  const std::optional<std::pair<std::string, std::string>> kLevels[] = {
      {}, {{"-1", "1"}}, {{"0", "5"}}, {{"off", "on"}}, {{"a", "a"}}};
  const std::optional<Rational> kTicks[] = {
      {},
      Rational(1),
      Rational::make(1, 1'000'000'000),
      Rational::make(1, 1'000'000'000'000'000),
      Rational::make(1, 3)};
  CsvOptions csv;
  csv.separator = chosen(kSeparators, choice[0] & 15);
  csv.decimal_mark = chosen(kMarks, choice[0] >> 4);
  csv.rows = chosen(kRows, choice[1] & 3);
  csv.edges = chosen(kEdges, choice[1] >> 2 & 3);
  csv.time_is_step = (choice[1] & 16) != 0;
  csv.radix = chosen(kRadixes, choice[1] >> 5);
  csv.time_unit = chosen(kUnits, choice[2] & 7);
  csv.time_column = chosen(kTimeColumns, choice[2] >> 3);
  csv.levels = chosen(kLevels, choice[3] & 7);
  csv.tick_s = chosen(kTicks, choice[3] >> 3);
  return csv;
}

std::optional<AnalogueOptions> analogue_options(unsigned byte) {
  const std::optional<Rational> kThresholds[] = {{},
                                                 Rational(0),
                                                 Rational::make(3, 2),
                                                 Rational::make(-7, 5),
                                                 Rational(1'000'000)};
  const std::optional<Rational> kHystereses[] = {
      {}, Rational(0), Rational::make(1, 10), Rational(3)};
  if ((byte & 1) == 0) return std::nullopt;
  return AnalogueOptions{chosen(kThresholds, byte >> 1 & 7),
                         chosen(kHystereses, byte >> 4)};
}

std::size_t edges_of(const Capture& capture) {
  std::size_t edges = 0;
  for (const ChannelRecord& channel : capture.channels) {
    for (const EdgeRun& run : channel.runs) {
      edges += 3;
      for (const CycleBlock& block : run.blocks) edges += 2 * block.count;
    }
  }
  return edges;
}

// Neither what comes after reading nor what is printed may fail or mislead.
void analyse(const Capture& capture) {
  if (edges_of(capture) > kMostEdges) return;
  Record record;
  record.command = "measure";
  record.captures.push_back(
      analyse_capture(capture, "capture", AnalysisOptions{}, serial_for));
  checked_reports(record);
}

}  // namespace

std::optional<FuzzInput> fuzz_input(const std::uint8_t* data,
                                    std::size_t size) {
  if (size < kChoiceBytes) return std::nullopt;
  FuzzInput input;
  input.feed.piece_bytes = std::size_t{1} + data[0];
  input.feed.jobs = std::size_t{1} + data[1] % 4;
  input.feed.most_at_once = std::size_t{1} + data[1] / 4;
  input.options.csv = csv_options(data + 2);
  input.options.analogue = analogue_options(data[6]);
  const std::optional<Rational> kRates[] = {
      {}, Rational(24'000'000), Rational::make(100'000'000, 3), Rational(1)};
  input.options.sample_rate_hz = chosen(kRates, data[7] & 7);
  const char* const kChannels[] = {"", "clk", "clk_out", "0", "bus[0]"};
  const std::string channel = chosen(kChannels, data[7] >> 3 & 15);
  if (!channel.empty()) input.options.channels.push_back(channel);
  input.options.skip_missing_channels = (data[7] & 128) != 0;
  input.text = {reinterpret_cast<const char*>(data) + kChoiceBytes,
                size - kChoiceBytes};
  return input;
}

void check_reading(const FuzzInput& input) {
  if (auto fault = reading_fault(input.text, input.options, input.feed)) {
    broken(*fault);
  }
  const auto capture = read_text(input.text, input.options);
  if (capture) analyse(*capture);
}

}  // namespace clockassay::test
