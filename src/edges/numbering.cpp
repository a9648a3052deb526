// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/numbering.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "edges/block_regularity.h"
#include "edges/cycle_line.h"
#include "edges/cycle_predictor.h"
#include "edges/regime_watch.h"
#include "edges/stand_ins.h"
#include "edges/stretch_builder.h"

namespace clockassay {
namespace {

/// A block is not looked into where its periods spread up to this much more
/// than those of one that was. Chosen.
constexpr double kCalm = 1.25;
struct LevelChange {
  bool rising;
  std::int64_t tick;  ///< relative to the block
};

/// The last edge of one polarity that was given a number.
struct LastNumber {
  std::int64_t cycle = std::numeric_limits<std::int64_t>::min();
  double error = 0.0;
  Ticks at = {};
  bool waits = false;  ///< the predictor has not learned it yet
};

class NumberingWalk {
 public:
  NumberingWalk(double window_ticks, bool rising_only)
      : window_(window_ticks),
        rising_only_(rising_only),
        builder_(rising_only) {}

  void run(const EdgeRun& run);
  EdgeStore finish() { return builder_.finish(); }

 private:
  bool is_regular(const CycleBlock& b);
  void regular_block(const CycleBlock& b);
  void irregular_block(const CycleBlock& b, const Ticks* leading);
  void lone_edges(const EdgeRun& run);
  void leading_fall(Ticks fall, const CycleBlock& first_block);

  void seed_predictor();
  bool begin_from(std::span<const LevelChange> changes, Ticks base,
                  const Ticks* next_rise);
  bool continues(const CycleBlock& b) const;
  void number_changes(std::span<const LevelChange> changes, Ticks base,
                      const Ticks* next_rise = nullptr);
  void take_change(const LevelChange& c, Ticks base);
  void learn(bool rising);
  std::optional<std::size_t> regime_change() const;
  void take_back(std::int64_t tick);
  void flush_explicit(Ticks base);

  void close_stretch(StretchBreak next);

  double window_;  // of one edge [ticks]
  bool rising_only_;
  StretchBuilder builder_;
  std::optional<double> period_;  // running period
  double calm_spread_ = 0.0;  // of periods about it, found to be jitter [ticks]
  const CycleBlock* last_regular_ = nullptr;  // the block just before, packed
  std::int64_t last_regular_cycle_ = 0;       // number of its first edge
  std::optional<CyclePredictor> predictor_;

  // While edges are numbered one by one:
  LastNumber last_[2];  // falling, rising
  std::optional<Ticks> last_edge_;
  ExplicitEdges explicit_;           // cycle numbers absolute
  std::vector<std::int64_t> extra_;  // ticks of edges left out
  RegimeWatch watch_;
  bool accepted_any_ = false;  // since the predictor began
};

void NumberingWalk::close_stretch(StretchBreak next) {
  builder_.close(next);
  period_.reset();
  calm_spread_ = 0.0;
  predictor_.reset();
  last_regular_ = nullptr;
  last_[0] = last_[1] = LastNumber{};
  last_edge_.reset();
  watch_.clear();
  accepted_any_ = false;
}

/// Whether the block's first edge is where the edges before it say. After
/// another packed block its period was looked at there.
bool NumberingWalk::continues(const CycleBlock& b) const {
  if (!predictor_) return true;
  const auto m = predictor_->match(true, b.first);
  return std::abs(m.error) <= predictor_->tolerance(window_) &&
         m.cycle > last_[1].cycle;
}

bool NumberingWalk::is_regular(const CycleBlock& b) {
  if (!continues(b)) return false;
  const double period = period_ ? *period_ : mean_period(b);
  if (!periods_within(b, period, 1.0, window_) &&
      !raw_numbering_fits(b, period_)) {
    return false;
  }
  const double high_range = static_cast<double>(b.high_max - b.high_min);
  const double spread = std::max({static_cast<double>(b.period_max) - period,
                                  period - static_cast<double>(b.period_min),
                                  rising_only_ ? 0.0 : 0.5 * high_range});
  const double calm = std::max(2.0 * window_, kCalm * calm_spread_);
  if (spread <= calm) return true;
  if (pulse_displaced(b, rising_only_, window_)) return false;
  calm_spread_ = spread;
  return true;
}

void NumberingWalk::regular_block(const CycleBlock& b) {
  std::int64_t first = 0;
  if (builder_.is_open() && last_regular_ != nullptr) {
    first = last_regular_cycle_ + last_regular_->count;
  } else if (builder_.is_open() && predictor_) {
    first = predictor_->match(true, b.first).cycle;
  }
  if (!builder_.is_open()) builder_.open();
  const double running = period_ ? *period_ : mean_period(b);
  builder_.add_packed(b, first, periods_within(b, running, 2.0, window_));
  period_ = mean_period(b);
  predictor_.reset();
  last_regular_ = &b;
  last_regular_cycle_ = first;
}

void NumberingWalk::seed_predictor() {
  if (last_regular_ == nullptr) return;
  const CycleBlock& b = *last_regular_;
  DecodedCycles decoded;
  decode_cycles(b, decoded);
  const auto rise = numbered({decoded.rise.data(), decoded.count});
  const auto fall = numbered({decoded.fall.data(), decoded.count});
  const std::int64_t last = last_regular_cycle_ + b.count - 1;
  CycleLine line;
  if (b.count >= 2) {
    line = fit_cycle_line(rise, fall);
  } else {
    line.period = mean_period(b);
    line.fall_intercept = static_cast<double>(fall[0].tick);
  }
  predictor_.emplace(last, b.first + Ticks(rise.back().tick), line.period,
                     line.fall_intercept - line.rise_intercept, line.scatter,
                     static_cast<int>(b.count));
  last_[0] = last_[1] = LastNumber{.cycle = last};
  last_edge_ = b.first + Ticks(fall.back().tick);
  accepted_any_ = true;
  last_regular_ = nullptr;
}

/// `next_rise`, the rising edge after the last change, if there is one, is
/// looked at but not numbered here.
bool NumberingWalk::begin_from(std::span<const LevelChange> changes, Ticks base,
                               const Ticks* next_rise) {
  std::vector<std::int64_t> rise, fall;
  for (const LevelChange& c : changes) {
    (c.rising ? rise : fall).push_back(c.tick);
  }
  if (next_rise != nullptr) rise.push_back((*next_rise - base).count());
  const auto begun = bootstrap_predictor(rise, fall, base, window_);
  if (!begun) return false;
  predictor_ = begun->predictor;
  builder_.open();
  return true;
}

/// Index of the first change of another regime, when the last few rising
/// edges show one.
std::optional<std::size_t> NumberingWalk::regime_change() const {
  if (!accepted_any_) return std::nullopt;
  return watch_.change({predictor_->period(), predictor_->scatter(), window_});
}

/// Takes back what was decided about changes from `tick` on.
void NumberingWalk::take_back(std::int64_t tick) {
  std::erase_if(extra_, [&](std::int64_t t) { return t >= tick; });
  for (auto* edges : {&explicit_.rise, &explicit_.fall}) {
    std::erase_if(*edges,
                  [&](const NumberedEdge& e) { return e.tick >= tick; });
  }
}

/// Tells the predictor of the last edge, once no nearer one can come.
void NumberingWalk::learn(bool rising) {
  LastNumber& last = last_[rising ? 1 : 0];
  if (!last.waits) return;
  predictor_->accept(rising, last.at, {last.cycle, last.error});
  last.waits = false;
}

void NumberingWalk::take_change(const LevelChange& c, Ticks base) {
  const Ticks at = base + Ticks(c.tick);
  LastNumber& last = last_[c.rising ? 1 : 0];
  if (predictor_->match(c.rising, at).cycle > last.cycle) learn(c.rising);
  const auto m = predictor_->match(c.rising, at);
  auto& edges = c.rising ? explicit_.rise : explicit_.fall;
  const bool close = std::abs(m.error) <= predictor_->tolerance(window_);
  if (close && m.cycle > last.cycle) {
    edges.push_back({m.cycle, c.tick});
    last = {m.cycle, m.error, at, true};
    watch_.fits();
    accepted_any_ = true;
  } else if (close && m.cycle == last.cycle && !edges.empty() &&
             std::abs(m.error) < std::abs(last.error)) {
    extra_.push_back(edges.back().tick);  // the nearer one is the edge
    edges.back().tick = c.tick;
    last = {m.cycle, m.error, at, last.waits};
  } else {
    extra_.push_back(c.tick);
  }
  last_edge_ = at;
}

void NumberingWalk::number_changes(std::span<const LevelChange> changes,
                                   Ticks base, const Ticks* next_rise) {
  std::size_t i = 0;
  while (i < changes.size()) {
    if (!predictor_ && !begin_from(changes.subspan(i), base, next_rise)) {
      builder_.add_unnumbered(static_cast<std::int64_t>(changes.size() - i),
                              base + Ticks(changes.back().tick));
      return;
    }
    const LevelChange& c = changes[i];
    const double silence =
        last_edge_
            ? static_cast<double>((base + Ticks(c.tick) - *last_edge_).count())
            : 0.0;
    if (silence > kStopPeriods * predictor_->period()) {
      flush_explicit(base);
      close_stretch(StretchBreak::kStopped);
      continue;
    }
    const std::size_t extras = extra_.size();
    take_change(c, base);
    const bool out = extra_.size() > extras && extra_.back() == c.tick;
    if (out) watch_.left_out(i);
    if (c.rising) watch_.rise(c.tick, i, out);
    ++i;
    if (const auto begin = regime_change()) {
      i = *begin;
      take_back(changes[i].tick);
      flush_explicit(base);
      close_stretch(StretchBreak::kRegimeChange);
    }
  }
  learn(false);
  learn(true);
  flush_explicit(base);
  watch_.clear();  // indices mean nothing in the next block
}

void NumberingWalk::flush_explicit(Ticks base) {
  const auto leave_out = [&](const std::vector<std::int64_t>& ticks) {
    extra_.insert(extra_.end(), ticks.begin(), ticks.end());
    std::sort(extra_.begin(), extra_.end());
  };
  leave_out(clip_outliers(explicit_.rise, explicit_.fall, window_));
  if (!rising_only_) {
    leave_out(clip_suspects(explicit_.rise, explicit_.fall,
                            suspect_edges(explicit_, extra_), window_));
  }
  builder_.add_explicit(std::move(explicit_), extra_, base);
  explicit_ = ExplicitEdges{};
  extra_.clear();
}

void NumberingWalk::irregular_block(const CycleBlock& b, const Ticks* leading) {
  DecodedCycles decoded;
  decode_cycles(b, decoded);
  std::vector<LevelChange> changes;
  if (leading != nullptr)
    changes.push_back({false, (*leading - b.first).count()});
  for (std::size_t i = 0; i < decoded.count; ++i) {
    changes.push_back({true, decoded.rise[i]});
    if (!rising_only_) changes.push_back({false, decoded.fall[i]});
  }
  seed_predictor();
  number_changes(changes, b.first, &b.end);
  if (predictor_) period_ = predictor_->period();
}

void NumberingWalk::leading_fall(Ticks fall, const CycleBlock& first_block) {
  // The stretch begins with this block; its line says where a falling edge of
  // the cycle before would be.
  last_regular_ = &first_block;
  last_regular_cycle_ = 0;
  seed_predictor();
  last_[0] = last_[1] = LastNumber{};
  const LevelChange change{false, (fall - first_block.first).count()};
  const auto m = predictor_->match(false, fall);
  builder_.open();
  if (m.cycle == -1) {
    number_changes({&change, 1}, first_block.first);
  } else {
    builder_.add_explicit({}, {change.tick}, first_block.first);
  }
  predictor_.reset();
  last_[0] = last_[1] = LastNumber{};
  last_edge_.reset();
}

void NumberingWalk::lone_edges(const EdgeRun& run) {
  if (!run.last_rise) return;
  std::vector<LevelChange> changes;
  changes.push_back({true, 0});
  if (run.trailing_fall && !rising_only_) {
    changes.push_back({false, (*run.trailing_fall - *run.last_rise).count()});
  }
  seed_predictor();
  if (!predictor_) {
    builder_.add_unnumbered(static_cast<std::int64_t>(changes.size()),
                            *run.last_rise + Ticks(changes.back().tick));
    return;
  }
  number_changes(changes, *run.last_rise);
}

void NumberingWalk::run(const EdgeRun& run) {
  const bool leads = run.leading_fall.has_value() && !rising_only_;
  const Ticks* leading = leads ? &*run.leading_fall : nullptr;
  for (const CycleBlock& b : run.blocks) {
    if (is_regular(b)) {
      if (leading != nullptr) leading_fall(*leading, b);
      regular_block(b);
    } else {
      irregular_block(b, leading);
    }
    leading = nullptr;
  }
  lone_edges(run);
  close_stretch(StretchBreak::kUnknownLevel);
}

}  // namespace

EdgeStore number_cycles(const ChannelRecord& record, double window_ticks) {
  NumberingWalk walk(window_ticks, record.rising_only);
  for (const EdgeRun& run : record.runs) walk.run(run);
  return walk.finish();
}

}  // namespace clockassay
