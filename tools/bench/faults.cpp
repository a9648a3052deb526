// SPDX-License-Identifier: GPL-3.0-or-later
// Where the true cause stands among those named, and what passes that should
// not: boards with a fault of a known kind, judged as `verify` does.
//   faults [--kind NAME] [--seeds N] [--first SEED]
//   faults --kind NAME --show SEED      one trial: file, truth, report
//   faults --accepts [--seeds N]        boards near the limit and far beyond
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <optional>
#include <string>
#include <vector>

#include "bench/trials.h"
#include "clockassay/report/report.h"
#include "support/faults/fault_score.h"
#include "support/faults/fault_trial.h"

using namespace clockassay;
using namespace clockassay::faults;

namespace {

struct Asked {
  std::string kind;
  std::size_t seeds = 20;
  std::uint64_t first = 1;
  std::optional<std::uint64_t> show;
  bool accepts = false;
};

struct Outcome {
  bool refused = false;
  Decision decision = Decision::kPass;  ///< the worst
  ClockScore score;
};

Decision worst_of(const std::vector<Verdict>& verdicts) {
  Decision worst = Decision::kPass;
  for (const Verdict& v : verdicts) worst = std::max(worst, v.decision);
  return worst;
}

Outcome run(const char* kind, std::uint64_t seed) {
  const FaultTrial trial = make_fault_trial(kind, seed);
  const auto record = judge_fault_trial(trial);
  if (!record) {
    std::fprintf(stderr, "%s %llu: %s\n", kind,
                 static_cast<unsigned long long>(seed),
                 record.error().message.c_str());
    return {true, Decision::kUndecided, {}};
  }
  return {false, worst_of(record->verdicts),
          score(record->verdicts, trial.truth)};
}

struct Row {
  std::size_t trials = 0, refused = 0, asked = 0, at_rank_one = 0, ranked = 0;
  std::size_t overclaims = 0, false_passes = 0, blatant = 0, false_fails = 0,
              needless = 0;
  std::array<std::size_t, 3> decisions{};
  std::array<std::size_t, 7> standings{};

  void add(const Outcome& outcome) {
    ++trials;
    if (outcome.refused) {
      ++refused;
      return;
    }
    const ClockScore& s = outcome.score;
    ++decisions[static_cast<std::size_t>(outcome.decision)];
    ++standings[static_cast<std::size_t>(s.standing)];
    asked += s.standing != Standing::kNotAsked;
    at_rank_one += s.at_rank_one;
    ranked += s.at_rank_one > 0;
    overclaims += s.overclaims;
    false_passes += s.is_false_pass;
    blatant += s.is_blatant;
    false_fails += s.is_false_fail;
    needless += s.names_needlessly;
  }

  void add(const Row& other) {
    trials += other.trials;
    refused += other.refused;
    asked += other.asked;
    at_rank_one += other.at_rank_one;
    ranked += other.ranked;
    overclaims += other.overclaims;
    false_passes += other.false_passes;
    blatant += other.blatant;
    false_fails += other.false_fails;
    needless += other.needless;
    for (std::size_t i = 0; i < decisions.size(); ++i) {
      decisions[i] += other.decisions[i];
    }
    for (std::size_t i = 0; i < standings.size(); ++i) {
      standings[i] += other.standings[i];
    }
  }

  std::size_t at(Standing s) const {
    return standings[static_cast<std::size_t>(s)];
  }

  double share_found() const {
    return asked == 0 ? 1.0
                      : static_cast<double>(at(Standing::kFirst) +
                                            at(Standing::kAmbiguous)) /
                            static_cast<double>(asked);
  }
};

void print_row(const char* name, const Row& row) {
  const auto percent = [&](std::size_t n) {
    return row.asked == 0 ? 0.0
                          : 100.0 * static_cast<double>(n) /
                                static_cast<double>(row.asked);
  };
  const std::size_t three = row.at(Standing::kFirst) +
                            row.at(Standing::kAmbiguous) +
                            row.at(Standing::kInThree);
  const double mean = row.ranked == 0 ? 0.0
                                      : static_cast<double>(row.at_rank_one) /
                                            static_cast<double>(row.ranked);
  std::printf(
      "| %-23s | %3zu %3zu %3zu | %4zu | %4.0f | %4.0f | %4.0f | %4.0f | %4.0f "
      "| "
      "%4.0f | %4.1f | %3zu | %3zu | %3zu | %3zu |\n",
      name, row.decisions[0], row.decisions[1], row.decisions[2], row.asked,
      percent(row.at(Standing::kFirst)), percent(row.at(Standing::kAmbiguous)),
      100.0 * row.share_found(), percent(three),
      percent(row.at(Standing::kOthers)), percent(row.at(Standing::kNothing)),
      mean, row.overclaims, row.false_passes, row.false_fails, row.needless);
  std::fflush(stdout);
}

void print_table(const Asked& asked) {
  std::printf(
      "seeds %llu to %llu of each kind\n\n"
      "pass, undecided, fail: boards, by their worst clock\n"
      "asked: boards not rightly passed, whose fault a cause should name; of "
      "these in %%:\n"
      "first: the truth alone at rank 1; shared: at rank 1 with others; found: "
      "the two\n"
      "three: among the first three; others: only others named; none: nothing "
      "named\n"
      "at 1: causes at rank 1, mean; over: one alone at rank 1 where the "
      "capture\ncannot tell; f.p. and f.f.: passes beyond the limit, fails "
      "of pins within it;\nidle: causes named where nothing is wrong nor looks "
      "so\n\n"
      "| %-23s | pas und fai | asked| first|shared| found| three|others| none "
      "| at 1 | over| f.p.| f.f.| idle|\n"
      "|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n",
      static_cast<unsigned long long>(asked.first),
      static_cast<unsigned long long>(asked.first + asked.seeds - 1), "kind");
  Row total;
  for (const char* kind : fault_kinds()) {
    if (!asked.kind.empty() && asked.kind != kind) continue;
    Row row;
    for (const Outcome& outcome : trials_of(asked.seeds, [&](std::size_t i) {
           return run(kind, asked.first + i);
         })) {
      row.add(outcome);
    }
    print_row(kind, row);
    total.add(row);
  }
  print_row("all", total);
  std::printf(
      "\nrefused %zu; passes with |e| > limit + 2 U, or of what is no clock: "
      "%zu\n",
      total.refused, total.blatant);
}

int show(const Asked& asked) {
  const FaultTrial trial = make_fault_trial(asked.kind, *asked.show);
  std::printf(
      "%s %llu: %s\ntimebase %s, reference %s\n%s\n", trial.kind.c_str(),
      static_cast<unsigned long long>(trial.seed), trial.story.c_str(),
      trial.timebase.value_or("not stated").c_str(),
      trial.reference.value_or("none").c_str(), trial.specification.c_str());
  for (const ClockTruth& truth : trial.truth) {
    std::printf("truth: %+.3f ppm, limit %.0f ppm%s%s;", truth.error_ppm,
                truth.limit_ppm, truth.is_tellable ? "" : ", not tellable",
                truth.must_not_pass ? ", must not pass" : "");
    for (const TrueCause& cause : truth.causes) {
      std::printf(" %s %s %s;", cause_code_name(cause.code),
                  cause.ratio.c_str(), cause.names.c_str());
    }
    std::printf("\n");
  }
  const auto record = judge_fault_trial(trial);
  if (!record) {
    std::printf("refused: %s\n", record.error().message.c_str());
    return EXIT_FAILURE;
  }
  for (const Verdict& v : record->verdicts) {
    for (const Cause& c : v.causes) {
      std::printf("%s: rank %d %s %s\n", v.clock.c_str(), c.rank,
                  cause_code_name(c.code), c.ratio.c_str());
    }
  }
  const auto text = text_report(*record, {});
  std::printf("\n%s\n", text ? text->c_str() : text.error().message.c_str());
  return EXIT_SUCCESS;
}

/// P(r + n <= x), r even within ± half_width, n normal: worked out here by
/// itself, because the library's U comes from its own.
double below(double x, double half_width, double sigma) {
  constexpr int kSteps = 2000;
  const double scale = std::max(sigma, 1e-9) * std::sqrt(2.0);
  double sum = 0.0;
  for (int i = 0; i < kSteps; ++i) {
    const double r = half_width * (2.0 * (i + 0.5) / kSteps - 1.0);
    sum += 0.5 * std::erfc(-(x - r) / scale);
  }
  return sum / kSteps;
}

struct Accept {
  bool refused = false, passed = false, failed = false, blatant = false;
  double pass_probability = 0.0;  ///< by what is open, of its true error
};

Accept accept_trial(double place, std::uint64_t seed) {
  const FaultTrial trial = make_board_near_limit(place, seed);
  const auto record = judge_fault_trial(trial);
  Accept accept;
  if (!record || !record->verdicts[0].expanded_uncertainty) {
    accept.refused = true;
    return accept;
  }
  const Verdict& v = record->verdicts[0];
  const ClockScore s = score(v, trial.truth[0]);
  accept.passed = v.decision == Decision::kPass;
  accept.failed = v.decision == Decision::kFail;
  accept.blatant = s.is_blatant;
  const double U = v.expanded_uncertainty->value();
  const double room =
      trial.truth[0].limit_ppm - U - std::abs(trial.truth[0].error_ppm);
  double sigma = 0.0;
  for (const ChannelResult& c : record->captures[0].channels) {
    if (!c.is_reference && c.budget) sigma = c.budget->error_ppm.normal_sigma;
  }
  accept.pass_probability = below(room, trial.time_half_width_ppm, sigma);
  return accept;
}

/// The most passes that chance lets happen but once in a thousand such studies.
std::size_t upper_end(const std::vector<double>& probabilities) {
  std::vector<double> chance{1.0};  // of so many passes
  for (const double p : probabilities) {
    chance.push_back(0.0);
    for (std::size_t k = chance.size(); k-- > 1;) {
      chance[k] = chance[k] * (1.0 - p) + chance[k - 1] * p;
    }
    chance[0] *= 1.0 - p;
  }
  double sum = 0.0;
  for (std::size_t k = 0; k < chance.size(); ++k) {
    sum += chance[k];
    if (sum >= 0.999) return k;
  }
  return chance.size();
}

int study_accepts(const Asked& asked) {
  constexpr std::array kPlaces = {0.5,  0.8, 0.95, 1.0001, 1.05,
                                  1.15, 1.3, 1.6,  2.1,    3.0};
  std::printf(
      "Boards whose |e| is limit + (place - 1) 2 a, a the half-width of the "
      "capture's\ntime; seeds %llu to %llu. Expected and most: passes by the "
      "distribution of the\nerror, and the 99.9 %% quantile of their "
      "number.\n\n"
      "| place | boards | pass | expected | most | fail | beyond limit + 2 U "
      "|\n|---|---|---|---|---|---|---|\n",
      static_cast<unsigned long long>(asked.first),
      static_cast<unsigned long long>(asked.first + asked.seeds - 1));
  bool held = true;
  for (const double place : kPlaces) {
    std::vector<double> probabilities;
    std::size_t passes = 0, fails = 0, blatant = 0;
    double expected = 0.0;
    for (const Accept& a : trials_of(asked.seeds, [&](std::size_t i) {
           return accept_trial(place, asked.first + i);
         })) {
      if (a.refused) continue;
      probabilities.push_back(a.pass_probability);
      expected += a.pass_probability;
      passes += a.passed;
      fails += a.failed;
      blatant += a.blatant;
    }
    const std::size_t most = upper_end(probabilities);
    held = held && blatant == 0 && (place < 1.0 || passes <= most);
    std::printf("| %.5g | %zu | %zu | %.1f | %zu | %zu | %zu |\n", place,
                probabilities.size(), passes, expected, most, fails, blatant);
    std::fflush(stdout);
  }
  std::printf("\n%s\n", held ? "within the band" : "BEYOND THE BAND");
  return held ? EXIT_SUCCESS : EXIT_FAILURE;
}

std::optional<Asked> read_arguments(int argc, char** argv) {
  Asked asked;
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    if (word == "--accepts") {
      asked.accepts = true;
      continue;
    }
    if (i + 1 == argc) return std::nullopt;
    const char* value = argv[++i];
    if (word == "--kind") {
      asked.kind = value;
      const auto kinds = fault_kinds();
      if (std::none_of(kinds.begin(), kinds.end(),
                       [&](const char* k) { return asked.kind == k; })) {
        return std::nullopt;
      }
    } else if (word == "--seeds") {
      asked.seeds = std::strtoull(value, nullptr, 10);
    } else if (word == "--first") {
      asked.first = std::strtoull(value, nullptr, 10);
    } else if (word == "--show") {
      asked.show = std::strtoull(value, nullptr, 10);
    } else {
      return std::nullopt;
    }
  }
  if (asked.show && asked.kind.empty()) return std::nullopt;
  return asked;
}

}  // namespace

int main(int argc, char** argv) {
  const auto asked = read_arguments(argc, argv);
  if (!asked) {
    std::fprintf(stderr,
                 "faults [--kind NAME] [--seeds N] [--first SEED] "
                 "[--show SEED] [--accepts]\nkinds:");
    for (const char* kind : fault_kinds()) std::fprintf(stderr, " %s", kind);
    std::fprintf(stderr, "\n");
    return EXIT_FAILURE;
  }
  if (asked->show) return show(*asked);
  if (asked->accepts) return study_accepts(*asked);
  print_table(*asked);
}
