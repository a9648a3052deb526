// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/corruption.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>
#include <vector>

#include "clockassay/analysis/analyse.h"
#include "clockassay/capture/capture_writer.h"
#include "clockassay/capture/simulated_clock.h"
#include "support/read_text.h"

namespace clockassay {
namespace {

constexpr std::array kAllDamage = {
    Damage::kFlipBits,  Damage::kReplaceBytes, Damage::kReplaceDigits,
    Damage::kDropBytes, Damage::kInsertBytes,  Damage::kDuplicateBytes,
    Damage::kZeroBlock, Damage::kDropLines,    Damage::kDuplicateLines,
    Damage::kSwapLines, Damage::kDropBlock,    Damage::kDuplicateBlock,
    Damage::kMoveBlock, Damage::kTruncate};

/// Draws places in the values of one text.
class Hand {
 public:
  Hand(std::string& text, std::size_t header, std::mt19937_64& random)
      : text_(text), header_(header), random_(random) {}

  std::size_t below(std::size_t n) {
    return n == 0 ? 0 : std::size_t(random_() % n);
  }
  std::size_t from_to(std::size_t low, std::size_t high) {
    return low + below(high - low + 1);
  }
  std::size_t place() { return from_to(header_, text_.size() - 1); }
  char byte() { return static_cast<char>(random_() & 0xFF); }

  /// A run of bytes within the values.
  std::pair<std::size_t, std::size_t> run(std::size_t most) {
    const std::size_t at = place();
    return {at, std::min(from_to(1, most), text_.size() - at)};
  }

  /// A run of whole lines within the values.
  std::pair<std::size_t, std::size_t> lines(std::size_t most) {
    const std::size_t before = text_.rfind('\n', place());
    const std::size_t at = before == std::string::npos || before + 1 < header_
                               ? header_
                               : before + 1;
    std::size_t end = at;
    for (std::size_t n = from_to(1, most); n > 0 && end < text_.size(); --n) {
      const std::size_t next = text_.find('\n', end);
      end = next == std::string::npos ? text_.size() : next + 1;
    }
    return {at, end - at};
  }

  void flip_bits() {
    for (std::size_t n = from_to(1, 4); n > 0; --n) {
      char& c = text_[place()];
      for (std::size_t b = from_to(1, 2); b > 0; --b) {
        c = static_cast<char>(c ^ (1 << below(8)));
      }
    }
  }
  void replace_bytes() {
    for (std::size_t n = from_to(1, 4); n > 0; --n) text_[place()] = byte();
  }
  void replace_digits() {
    for (std::size_t n = from_to(1, 4), tries = 1000; n > 0 && tries > 0;
         --tries) {
      char& c = text_[place()];
      if (c < '0' || c > '9') continue;
      c = static_cast<char>('0' + below(10));
      --n;
    }
  }
  void insert_bytes() {
    std::string some;
    if (below(2) == 0) {
      for (std::size_t n = from_to(1, 64); n > 0; --n) some += byte();
    } else {
      const auto [at, size] = run(64);
      some = text_.substr(at, size);
    }
    text_.insert(place(), some);
  }
  void drop(std::pair<std::size_t, std::size_t> part) {
    text_.erase(part.first, part.second);
  }
  void duplicate(std::pair<std::size_t, std::size_t> part) {
    const std::string some = text_.substr(part.first, part.second);
    text_.insert(part.first + part.second, some);
  }
  void move(std::pair<std::size_t, std::size_t> part) {
    const std::string some = text_.substr(part.first, part.second);
    text_.erase(part.first, part.second);
    text_.insert(from_to(std::min(header_, text_.size()), text_.size()), some);
  }
  void swap_lines() {
    const auto one = lines(1), other = lines(1);
    const auto [first, second] = std::minmax(one, other);
    if (first.first + first.second > second.first) return;
    const std::string a = text_.substr(first.first, first.second);
    const std::string b = text_.substr(second.first, second.second);
    text_.replace(second.first, second.second, a);
    text_.replace(first.first, first.second, b);
  }
  std::size_t quarter() const {
    return std::max<std::size_t>(1, (text_.size() - header_) / 4);
  }

 private:
  std::string& text_;
  std::size_t header_;
  std::mt19937_64& random_;
};

struct BoardKind {
  double error_ppm;
  bool is_vcd;
  std::int64_t sample_hz;
  std::int64_t cycles;
  double jitter_s;
};

// The limit is 100 ppm and the timebase is known to 2: of 300 cycles at 9.7
// samples each U is below 25 ppm.
constexpr double kLimit = 100.0;
constexpr double kTimebase = 2.0;
constexpr std::int64_t kExpected = 1'000'000;
constexpr std::array kBoards = {
    BoardKind{0.0, false, 9'700'000, 300, 0.0},
    BoardKind{20.0, true, 9'700'000, 300, 2e-9},
    BoardKind{-30.0, false, 24'000'000, 400, 5e-9},
    BoardKind{160.0, false, 9'700'000, 300, 0.0},
    BoardKind{-160.0, true, 9'700'000, 300, 2e-9},
    BoardKind{400.0, true, 24'000'000, 400, 5e-9},
    BoardKind{9'000.0, false, 9'700'000, 300, 10e-9},
    BoardKind{-333'333.0, true, 9'700'000, 300, 0.0}};

Specification specification_of(const KnownBoard& board) {
  auto read = specification_from_options(
      "1MHz", std::to_string(std::llround(board.limit_ppm)) + "ppm", {});
  return *std::move(read);
}

/// Whether the figure holds the truth: within U, or within twice that, which
/// one in ten thousand may miss where one in twenty may miss U.
bool holds_truth(const KnownBoard& board, const Verdict& v) {
  return v.error && v.expanded_uncertainty &&
         std::abs(v.error->value() - board.error_ppm) <=
             2.0 * v.expanded_uncertainty->value();
}

}  // namespace

std::span<const Damage> all_damage() {
  return kAllDamage;
}

const char* damage_name(Damage kind) {
  constexpr std::array kNames = {
      "flip bits",       "replace bytes",   "replace digits", "drop bytes",
      "insert bytes",    "duplicate bytes", "zero block",     "drop lines",
      "duplicate lines", "swap lines",      "drop block",     "duplicate block",
      "move block",      "truncate"};
  return kNames[static_cast<std::size_t>(kind)];
}

const char* outcome_name(Outcome outcome) {
  constexpr std::array kNames = {"refused",    "undecided",  "right",
                                 "wrong fail", "wrong pass", "misleading"};
  return kNames[static_cast<std::size_t>(outcome)];
}

std::string damage(std::string_view text, std::size_t header, Damage kind,
                   std::mt19937_64& random) {
  std::string out(text);
  Hand hand(out, header, random);
  switch (kind) {
    case Damage::kFlipBits:
      hand.flip_bits();
      break;
    case Damage::kReplaceBytes:
      hand.replace_bytes();
      break;
    case Damage::kReplaceDigits:
      hand.replace_digits();
      break;
    case Damage::kDropBytes:
      hand.drop(hand.run(64));
      break;
    case Damage::kInsertBytes:
      hand.insert_bytes();
      break;
    case Damage::kDuplicateBytes:
      hand.duplicate(hand.run(64));
      break;
    case Damage::kZeroBlock: {
      const auto [at, size] = hand.run(512);
      std::fill_n(out.begin() + static_cast<std::ptrdiff_t>(at), size, '\0');
      break;
    }
    case Damage::kDropLines:
      hand.drop(hand.lines(20));
      break;
    case Damage::kDuplicateLines:
      hand.duplicate(hand.lines(20));
      break;
    case Damage::kSwapLines:
      hand.swap_lines();
      break;
    case Damage::kDropBlock:
      hand.drop(hand.run(hand.quarter()));
      break;
    case Damage::kDuplicateBlock:
      hand.duplicate(hand.run(hand.quarter()));
      break;
    case Damage::kMoveBlock:
      hand.move(hand.run(hand.quarter()));
      break;
    case Damage::kTruncate:
      out.resize(hand.place());
      break;
  }
  return out;
}

std::size_t board_kinds() {
  return kBoards.size();
}

KnownBoard make_board(std::size_t kind, std::uint64_t seed) {
  const BoardKind& k = kBoards[kind];
  SimulatedClockOptions options;
  options.frequency_hz = Rational(kExpected);
  options.offset_ppm = Rational(std::llround(k.error_ppm));
  options.sample_rate_hz = Rational(k.sample_hz);
  options.cycles = k.cycles;
  options.jitter_rms_s = k.jitter_s;
  options.seed = seed;
  const auto simulated = simulate_clock(options);
  KnownBoard board;
  board.text =
      *(k.is_vcd ? vcd_text(*simulated, "clk") : csv_text(*simulated, "clk"));
  const char* last = k.is_vcd ? "$enddefinitions $end\n" : "time_s,clk\n";
  board.header = board.text.find(last) + std::string_view(last).size();
  board.error_ppm = k.error_ppm;
  board.limit_ppm = kLimit;
  board.timebase_ppm = kTimebase;
  return board;
}

Outcome outcome_of(const KnownBoard& board, std::string_view text) {
  const auto capture = test::read_text(text);
  if (!capture) return Outcome::kRefused;
  const Specification specification = specification_of(board);
  AnalysisOptions options;
  options.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(board.timebase_ppm)};
  options.expected = expected_of(specification);
  const CaptureResult result =
      analyse_capture(*capture, "a", options, serial_for);
  const auto verdicts = judge_capture(specification, result, options.timebase);
  if (!verdicts || verdicts->size() != 1) return Outcome::kRefused;
  const Verdict& v = verdicts->front();
  const bool is_good = std::abs(board.error_ppm) <= board.limit_ppm;
  if (v.decision == Decision::kPass) {
    return is_good ? Outcome::kRightAnswer : Outcome::kWrongPass;
  }
  if (v.decision == Decision::kFail) {
    // A clock that is gone from the text fails, as it should.
    return is_good && v.error ? Outcome::kWrongFail : Outcome::kRightAnswer;
  }
  if (!v.error || holds_truth(board, v)) return Outcome::kUndecided;
  bool is_warned = forbids_pass(result.warnings) || forbids_pass(v.warnings);
  for (const ChannelResult& c : result.channels) {
    is_warned = is_warned || forbids_pass(c.warnings);
  }
  return is_warned ? Outcome::kUndecided : Outcome::kMisleading;
}

}  // namespace clockassay
