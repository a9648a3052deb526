// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_resonance.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <iterator>
#include <numbers>
#include <utility>
#include <vector>

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/student_t.h"
#include "estimate/scatter.h"

namespace clockassay {
namespace {

constexpr double kPi = std::numbers::pi;
/// Turns over the view, within which a harmonic stands still in a part of 32.
constexpr double kStill = 16.0;
constexpr int kMostPhases = 1024;  // chosen: more move a slope by 1/700 sample
/// As the scatter that time_by_reference() goes by.
constexpr std::size_t kParts = kScatterParts;
/// Edges looked at, beyond which some are left out. Chosen, for speed.
constexpr std::int64_t kMostEdges = 16384;

/// The path at x from 0 to 1, linear between the middles of its parts.
double path_at(std::span<const double> path, double x) {
  const auto last = static_cast<double>(path.size() - 1);
  const double place =
      std::clamp(x * static_cast<double>(path.size()) - 0.5, 0.0, last);
  const auto i = std::min(static_cast<std::size_t>(place), path.size() - 2);
  return path[i] + (place - static_cast<double>(i)) * (path[i + 1] - path[i]);
}

double fraction(double x) {
  return x - std::floor(x);
}

/// Where edge k lies in the view, from 0 to 1, and its phase if that of the
/// first edge is 0.
struct MetAt {
  double x = 0.0;
  double phase = 0.0;
};

MetAt met_at(const SamplerPhases& p, std::int64_t k) {
  const double x =
      (static_cast<double>(k) + 0.5) / static_cast<double>(p.cycles + 1);
  return {x, fraction(fraction(p.period) * static_cast<double>(k)) +
                 path_at(p.path, x)};
}

/// Edges evenly spread over the view: all, or one of each of kMostEdges equal
/// parts of it, whichever the golden section picks.
std::vector<MetAt> met_edges(const SamplerPhases& p) {
  const std::int64_t all = p.cycles + 1;
  const std::int64_t n = std::min(all, kMostEdges);
  std::vector<MetAt> edges;
  edges.reserve(static_cast<std::size_t>(n));
  for (std::int64_t i = 0; i < n; ++i) {
    const double within =
        n == all ? 0.0 : fraction(std::numbers::phi * static_cast<double>(i));
    const double share = static_cast<double>(all) / static_cast<double>(n);
    edges.push_back(met_at(
        p, std::min(all - 1, static_cast<std::int64_t>(
                                 share * (static_cast<double>(i) + within)))));
  }
  return edges;
}

/// What sampling adds to an edge at a phase, with jitter: the mean of u - 1/2
/// over the phases u that the jitter leads to.
class Sawtooth {
 public:
  explicit Sawtooth(double sigma) {
    if (sigma * kPoints < 1.0) return;  // no wider than a step of the table
    table_.resize(kPoints + 1);
    for (std::size_t i = 0; i <= kPoints; ++i) {
      const double u = static_cast<double>(i) / kPoints;
      double mean = u - 0.5;
      for (int turn = -kTurns; turn <= kTurns; ++turn) {
        // A turn less beyond each whole number above, a turn more below.
        const double beyond =
            0.5 * std::erfc((turn - u) / sigma / std::numbers::sqrt2);
        mean -= turn >= 1 ? beyond : beyond - 1.0;
      }
      table_[i] = mean;
    }
  }

  double operator()(double u) const {
    const double at = fraction(u);
    if (table_.empty()) return at - 0.5;
    const double place = at * kPoints;
    const auto i = static_cast<std::size_t>(place);
    return table_[i] +
           (place - static_cast<double>(i)) * (table_[i + 1] - table_[i]);
  }

 private:
  static constexpr std::size_t kPoints = 1024;  // chosen
  static constexpr int kTurns = 9;  // eight deviations of the most, one sample
  std::vector<double> table_;
};

/// A line through what sampling adds to the edges of a view.
struct AddedLine {
  double slope = 0.0;     ///< [samples over the view]
  double variance = 0.0;  ///< of it, by the scatter of the parts
};

/// `more` turns of the phase over the view, beside its own.
AddedLine added_line(std::span<const MetAt> edges, const Sawtooth& added,
                     double first_phase, double more) {
  struct Part {
    double n = 0.0, x = 0.0, y = 0.0;
  };
  std::array<Part, kParts> parts{};
  double xx = 0.0, xy = 0.0, sum = 0.0;
  for (const MetAt& e : edges) {
    const double x = e.x - 0.5;
    const double y = added(first_phase + e.phase + more * x);
    Part& part = parts[static_cast<std::size_t>(e.x * kParts)];
    part.n += 1.0;
    part.x += x;
    part.y += y;
    xx += x * x;
    xy += x * y;
    sum += y;
  }
  AddedLine line{xy / xx, 0.0};
  const double mean = sum / static_cast<double>(edges.size());
  double squares = 0.0;
  int filled = 0;
  for (const Part& p : parts) {
    if (p.n == 0.0) continue;
    const double off = p.y - line.slope * p.x - p.n * mean;
    squares += off * off / p.n;
    ++filled;
  }
  if (filled > 2) line.variance = squares / (filled - 2) / xx;
  return line;
}

constexpr int kFirstPhases = 64;  // chosen

/// First phases such that those of `few` that the view meets lie evenly within
/// a `few`-th, each from another part of the turn.
double first_phase(int i, int few) {
  const int q = std::max(few, 1);
  const double part = std::floor(q * fraction(std::numbers::phi * i));
  return (part + (i + 0.5) / kFirstPhases) / q;
}

/// Half-width of the slope beyond what the scatter shows, over all phases of
/// the first edge.
double beyond_scatter(std::span<const MetAt> edges, const Sawtooth& added,
                      int few, double more) {
  // Chosen: of so many, and three deviations where the edges left out make it
  // a matter of chance.
  const double chance =
      static_cast<std::int64_t>(edges.size()) < kMostEdges ? 1.1 : 1.5;
  double squares = 0.0, shown = 0.0, most = 0.0;
  for (int i = 0; i < kFirstPhases; ++i) {
    const AddedLine line = added_line(edges, added, first_phase(i, few), more);
    squares += line.slope * line.slope / kFirstPhases;
    shown += line.variance / kFirstPhases;
    most = std::max(most, std::abs(line.slope));
  }
  const double left = std::max(0.0, squares - chance * shown);
  return std::min(most, student_t_two_sided(kHalfWidthCoverage, std::nullopt) *
                            std::sqrt(left));
}

/// Variance that edges with normal jitter of rms sigma show when the phases of
/// the sampler are met evenly, those of `few` from one edge to the next.
double variance_about_phase(double sigma, int few) {
  double sum = sigma * sigma + 1.0 / 12.0;
  constexpr int kTerms = 200;  // those left out add 2.5e-4 at sigma = 0
  for (int i = 1; i <= kTerms && few > 0; ++i) {
    const double m = static_cast<double>(i) * few;
    sum -= std::exp(-4.0 * kPi * kPi * sigma * sigma * m * m) /
           (2.0 * kPi * kPi * m * m);
  }
  return sum;
}

/// (-1)^i times the binomial of 8 over i: differences of a sine of ten edges a
/// turn are (2 sin(pi/10))^8 of it, 0.00019 of those of white jitter of the
/// same rms.
constexpr std::int64_t kDifference[] = {1, -8, 28, -56, 70, -56, 28, -8, 1};
constexpr std::size_t kDifferenceEdges = std::size(kDifference);
constexpr double kDifferenceGain = 12870.0;  // sum of their squares

/// Sum of squares of differences, cut off where they are no jitter below a
/// sample in any case, so that it is exact.
struct DifferenceSums {
  std::int64_t n = 0;
  Int128 squares = 0;
};

/// Rising edges of a block, and of those after it until a difference that
/// begins with the last one is complete; then how many are its own.
struct EdgeRun {
  std::vector<NumberedEdge> edges;
  std::size_t own = 0;
};

EdgeRun run_from(const EdgeView& view, const EdgeFrame& frame,
                 std::size_t block) {
  EdgeRun run;
  BlockEdges edges;
  for (std::size_t b = block; b < view.block_count(); ++b) {
    if (b > block && run.edges.size() >= run.own + kDifferenceEdges - 1) break;
    view.read_block(b, edges);
    for (std::size_t i = 0; i < edges.rise.count; ++i) {
      const std::int64_t cycle = edges.rise.cycle[i];
      run.edges.push_back({frame.k(edges.first_cycle, cycle),
                           frame.y(edges.first_cycle, edges.first_tick, cycle,
                                   edges.rise.tick[i])});
    }
    if (b == block) run.own = run.edges.size();
    if (run.own == 0) break;
  }
  return run;
}

DifferenceSums sum_differences(const EdgeRun& run) {
  constexpr std::int64_t kMost = std::int64_t{1} << 45;
  constexpr std::size_t kAhead = kDifferenceEdges - 1;
  DifferenceSums sums;
  for (std::size_t i = 0; i < run.own && i + kAhead < run.edges.size(); ++i) {
    const NumberedEdge* edges = &run.edges[i];
    if (edges[kAhead].cycle - edges[0].cycle != std::int64_t{kAhead}) continue;
    std::int64_t difference = 0;
    for (std::size_t j = 0; j < kDifferenceEdges; ++j) {
      difference += kDifference[j] * edges[j].tick;
    }
    difference = std::clamp(difference, -kMost, kMost);
    ++sums.n;
    sums.squares += Int128(difference) * difference;
  }
  return sums;
}

/// Mean square of what sampling without jitter adds to a difference.
double sampled_differences(const SamplerPhases& p) {
  constexpr int kFirst = 8;                 // chosen
  constexpr std::int64_t kMostRuns = 4096;  // chosen
  constexpr auto kAhead = static_cast<std::int64_t>(kDifferenceEdges - 1);
  const std::int64_t begins = p.cycles + 1 - kAhead;
  const std::int64_t step = std::max<std::int64_t>(1, begins / kMostRuns);
  double squares = 0.0, n = 0.0;
  for (std::int64_t k = 0; k < begins; k += step) {
    std::array<double, kDifferenceEdges> phase{};
    for (std::size_t j = 0; j < kDifferenceEdges; ++j) {
      phase[j] = met_at(p, k + static_cast<std::int64_t>(j)).phase;
    }
    for (int i = 0; i < kFirst; ++i) {
      double difference = 0.0;
      for (std::size_t j = 0; j < kDifferenceEdges; ++j) {
        difference += static_cast<double>(kDifference[j]) *
                      fraction(phase[j] + fraction(std::numbers::phi * i));
      }
      squares += difference * difference;
      n += 1.0;
    }
  }
  return n > 0.0 ? squares / n / kDifferenceGain : 0.0;
}

}  // namespace

SamplerPhases::SamplerPhases(double p, std::int64_t n, std::vector<double> by)
    : period(p), cycles(n), path(std::move(by)) {
  for (int m = 1; m <= kMostPhases && few == 0; ++m) {
    const double turns = m * period - std::round(m * period);
    if (std::abs(turns) * static_cast<double>(cycles) <= kStill) few = m;
  }
}

double jitter_of(double variance, int few) {
  double low = 0.0, high = 1.0;  // above, no harmonic is left
  if (variance >= variance_about_phase(high, few)) return high;
  for (int i = 0; i < 40; ++i) {
    const double middle = 0.5 * (low + high);
    (variance_about_phase(middle, few) < variance ? low : high) = middle;
  }
  return low;
}

double sampling_resonance(const SamplerPhases& phases, double sigma) {
  constexpr double kNoHarmonic = 0.8;  // exp(-2 pi² 0.64) is 3e-6
  if (sigma > kNoHarmonic) return 0.0;
  const std::vector<MetAt> edges = met_edges(phases);
  const Sawtooth added(sigma);
  double most = beyond_scatter(edges, added, phases.few, 0.0);
  if (phases.few == 0) return most;
  // What of the period the capture leaves open, in turns of that harmonic.
  for (const double open : {-0.75, -0.375, 0.375, 0.75}) {
    most = std::max(
        most, beyond_scatter(edges, added, phases.few, open / phases.few));
  }
  return most;
}

double least_jitter(std::span<const LineSums> parts, double sample, int few) {
  struct Part {
    double variance = 0.0;
    double dof = 0.0;
  };
  std::vector<Part> scatter;
  for (const LineSums& part : parts) {
    const auto fit = fit_line(part, LineSums{});
    if (!fit || fit->dof < 1) continue;
    const auto dof = static_cast<double>(fit->dof);
    scatter.push_back({fit->residual_squares / dof / (sample * sample), dof});
  }
  if (scatter.empty()) return 0.0;
  const auto quarter =
      scatter.begin() + static_cast<std::ptrdiff_t>(scatter.size() / 4);
  std::nth_element(
      scatter.begin(), quarter, scatter.end(),
      [](const Part& a, const Part& b) { return a.variance < b.variance; });
  // With one phase nothing is taken off that jitter has to be told from.
  if (few == 1) return jitter_of(quarter->variance, few);
  const double known = std::max(0.0, 1.0 - std::sqrt(2.0 / quarter->dof));
  return jitter_of(quarter->variance * known, few);
}

std::optional<double> quick_variance(const EdgeView& view,
                                     const EdgeFrame& frame, double sample,
                                     const ParallelFor& parallel_for) {
  constexpr std::int64_t kFewest = 32;  // chosen
  std::vector<DifferenceSums> blocks(view.block_count());
  parallel_for(blocks.size(), [&](std::size_t i) {
    blocks[i] = sum_differences(run_from(view, frame, i));
  });
  DifferenceSums all;
  for (const DifferenceSums& block : blocks) {
    all.n += block.n;
    all.squares += block.squares;
  }
  if (all.n < kFewest) return std::nullopt;
  return static_cast<double>(all.squares) / static_cast<double>(all.n) /
         kDifferenceGain / (sample * sample);
}

double certain_jitter(const SamplerPhases& phases, double least, double quick) {
  constexpr double kEven = 1.0 / 12.0;
  // Half a sample, in turn to either side: 2^8 halves.
  constexpr double kMost = 128.0 * 128.0 / kDifferenceGain;
  constexpr double kFar = 2.0;  // chosen
  const auto above = [&](double sampled) {
    return std::sqrt(std::max(0.0, quick - sampled));
  };
  const double jitter = above(std::max(kEven, sampled_differences(phases)));
  return std::min(least, least > kFar * jitter ? above(kMost) : jitter);
}

}  // namespace clockassay
