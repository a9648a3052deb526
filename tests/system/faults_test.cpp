// SPDX-License-Identifier: GPL-3.0-or-later
// Boards with a fault of each kind, through the whole library. What must never
// be, whatever a ranking of causes does; which cause comes first is counted by
// tools/bench/faults.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/report/report.h"
#include "support/faults/fault_score.h"
#include "support/faults/fault_trial.h"
#include "support/read_text.h"
#include "support/run_edges.h"

using namespace clockassay;
using namespace clockassay::faults;

namespace {

constexpr std::array<std::uint64_t, 2> kSeeds = {101, 102};

std::string one_line(const std::string& text) {
  std::string line;
  for (const char c : text) {
    const bool blank = c == ' ' || c == '\n';
    if (!blank || line.empty() || line.back() != ' ') {
      line += blank ? ' ' : c;
    }
  }
  return line;
}

std::size_t count_of(const std::string& text, const std::string& words) {
  std::size_t count = 0;
  for (std::size_t at = text.find(words); at != std::string::npos;
       at = text.find(words, at + 1)) {
    ++count;
  }
  return count;
}

/// Causes that share their rank.
std::size_t shared_ranks(const Verdict& verdict) {
  return static_cast<std::size_t>(std::count_if(
      verdict.causes.begin(), verdict.causes.end(), [&](const Cause& cause) {
        return std::count_if(verdict.causes.begin(), verdict.causes.end(),
                             [&](const Cause& other) {
                               return other.rank == cause.rank;
                             }) > 1;
      }));
}

void check_causes(const Verdict& verdict) {
  int rank = 1;
  for (const Cause& cause : verdict.causes) {
    CAPTURE(cause.cause);
    CHECK(!std::string_view(cause_code_name(cause.code)).empty());
    CHECK(!cause.cause.empty());
    CHECK(!cause.if_true.empty());
    CHECK(!cause.advice.empty());
    CHECK(!cause.settled_by.empty());
    // The best first, and no rank left out but by those that share one.
    CHECK(cause.rank >= rank);
    rank = cause.rank;
  }
  if (!verdict.causes.empty()) CHECK(verdict.causes.front().rank == 1);
}

void check_reports(const Record& record) {
  CHECK(json_report(record));
  const auto text = text_report(record, {});
  REQUIRE(text);
  std::size_t shared = 0;
  for (const Verdict& v : record.verdicts) shared += shared_ranks(v);
  CHECK(count_of(one_line(*text), "(others fit as well)") == shared);
}

}  // namespace

TEST_CASE("a faulty board: no blatant pass, no cause without advice") {
  for (const char* kind : fault_kinds()) {
    for (const std::uint64_t seed : kSeeds) {
      CAPTURE(kind);
      CAPTURE(seed);
      const FaultTrial trial = make_fault_trial(kind, seed);
      CAPTURE(trial.story);
      const auto record = judge_fault_trial(trial);
      if (!record) {  // what is no data is refused with a way forward
        CAPTURE(record.error().message);
        CHECK(record.error().code == ErrorCode::kBadData);
        CHECK(!record.error().hint.empty());
        continue;
      }
      REQUIRE(record->verdicts.size() == trial.truth.size());
      CHECK(!score(record->verdicts, trial.truth).is_blatant);
      for (const Verdict& verdict : record->verdicts) check_causes(verdict);
      check_reports(*record);
    }
  }
}

TEST_CASE("a healthy board: never fails, no cause where none is needed") {
  // A fail asks for e - U beyond the limit. e is within 0.6 of it, and U is
  // 0.95 of a timebase's half-width at least, itself ten limits at most: only a
  // timebase within 1 % of its end could bring that about, if e is at its own.
  // With these seeds none is.
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    const FaultTrial trial = make_fault_trial("healthy", seed);
    const auto record = judge_fault_trial(trial);
    REQUIRE(record);
    for (std::size_t i = 0; i < record->verdicts.size(); ++i) {
      const Verdict& verdict = record->verdicts[i];
      CHECK(verdict.decision != Decision::kFail);
      if (verdict.decision == Decision::kPass) CHECK(verdict.causes.empty());
    }
  }
}

TEST_CASE("the true cause comes first or is said to be one of several") {
  // tools/bench/faults counts 98 of 100 over seeds 1 to 20, 97 over 41 to 60
  // and 96 over 301 to 320. Of the some 275 boards here whose cause is asked
  // for, 97 % have a standard deviation of 1.0 %: four below, 93 %. One cause
  // alone where the capture cannot tell, 8.1 % there, has 1.6 %: four above,
  // 15 %.
  constexpr std::uint64_t kFirstSeed = 21;
  constexpr std::uint64_t kLastSeed = 25;
  constexpr double kFound = 0.93;
  constexpr double kOverclaimed = 0.15;
  // Naming everything would find the cause as well: 1.8 at rank 1 on the mean,
  // at most eight each, whose standard deviation of 1.2 makes 0.07 of the mean;
  // four above.
  constexpr double kAtRankOne = 2.1;
  double asked = 0.0, found = 0.0, overclaimed = 0.0;
  double ranked = 0.0, at_rank_one = 0.0;
  std::size_t refused = 0;
  for (const char* kind : fault_kinds()) {
    for (std::uint64_t seed = kFirstSeed; seed <= kLastSeed; ++seed) {
      const FaultTrial trial = make_fault_trial(kind, seed);
      const auto record = judge_fault_trial(trial);
      if (!record) {
        ++refused;
        continue;
      }
      const ClockScore s = score(record->verdicts, trial.truth);
      asked += s.standing != Standing::kNotAsked ? 1.0 : 0.0;
      found +=
          s.standing == Standing::kFirst || s.standing == Standing::kAmbiguous
              ? 1.0
              : 0.0;
      overclaimed += s.overclaims ? 1.0 : 0.0;
      ranked += s.at_rank_one > 0 ? 1.0 : 0.0;
      at_rank_one += static_cast<double>(s.at_rank_one);
    }
  }
  CAPTURE(kFirstSeed);
  CAPTURE(asked);
  // Every one of them is a capture somebody would want judged.
  CHECK(refused == 0);
  CHECK(found >= kFound * asked);
  CHECK(overclaimed <= kOverclaimed * asked);
  CHECK(at_rank_one <= kAtRankOne * ranked);
}

TEST_CASE("a trial is the same for the same seed, and others for others") {
  const FaultTrial one = make_fault_trial("crystal_listed", 7);
  const FaultTrial same = make_fault_trial("crystal_listed", 7);
  CHECK(one.capture == same.capture);
  CHECK(one.specification == same.specification);
  CHECK(one.capture != make_fault_trial("crystal_listed", 8).capture);
  CHECK(one.capture != make_fault_trial("crystal_unlisted", 7).capture);
}

namespace {

/// Seconds of the rises of a channel.
std::vector<double> rises_of(const Capture& capture, std::size_t channel) {
  std::vector<double> rises;
  const double tick_s = capture.grid.tick_s.to_double();
  for (const test::PlainRun& run :
       test::plain_channel(capture.channels[channel]).runs) {
    for (const LevelEvent& e : run.edges) {
      if (e.level != Level::kHigh) continue;
      rises.push_back(static_cast<double>(e.time.count()) * tick_s);
    }
  }
  return rises;
}

// By the first and last rise of each channel, nothing else: the error of two
// edges is a sample and their jitter, that of the timebase comes on top.
void check_truth(const FaultTrial& trial, bool is_noisy) {
  const auto specification = parse_specification(trial.specification);
  const auto capture = test::read_text(trial.capture);
  REQUIRE(specification);
  REQUIRE(capture);
  constexpr double kLongestSample = 1.0 / 8e6;
  constexpr double kJitter = 2 * 5 * 500e-12;  // two edges, k = 5
  for (std::size_t i = 0; i < trial.truth.size(); ++i) {
    const std::vector<double> rises = rises_of(*capture, i);
    const double duration = rises.back() - rises.front();
    const auto periods = static_cast<double>(rises.size() - 1);
    const double ratio =
        periods / duration /
        specification->clocks[i].expect.frequency_hz.to_double();
    // The noise of an RC oscillator's periods adds up: 3e-3 each at most, k
    // = 4.
    const double noise_ppm = is_noisy ? 4.0 * 3e3 / std::sqrt(periods) : 0.0;
    const double open_ppm = trial.time_half_width_ppm + noise_ppm +
                            1e6 * (kLongestSample + kJitter) / duration;
    // All but the error itself is of the frequency that is there.
    CHECK(std::abs(1e6 * (ratio - 1.0) - trial.truth[i].error_ppm) <=
          open_ppm * ratio * (1.0 + 1e-3));
  }
}

}  // namespace

TEST_CASE("a trial's capture shows what is said to be true of it") {
  for (const char* kind :
       {"healthy", "crystal_unlisted", "factor_twice", "n_minus_1_large",
        "load_heavy", "rc_listed", "overtone_on_fundamental"}) {
    for (const std::uint64_t seed : kSeeds) {
      const FaultTrial trial = make_fault_trial(kind, seed);
      if (trial.reference) continue;  // its timebase is off as it likes
      CAPTURE(kind);
      CAPTURE(seed);
      check_truth(trial, std::string_view(kind) == "rc_listed");
    }
  }
}
