// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/edge_faults.h"

#include <algorithm>
#include <optional>

namespace clockassay {
namespace {

class Damage {
 public:
  Damage(const SampledEdges& clock, GlitchPlace place, std::mt19937_64& random)
      : rises_(clock.rises),
        falls_(clock.falls),
        place_(place),
        random_(random),
        lost_rise_(rises_.size()),
        lost_fall_(falls_.size()) {}

  void spread(const EdgeFaults& faults);
  void single(const EdgeFaults& faults);
  DamagedClock result() const;

 private:
  bool happens(double share) {
    return share > 0.0 && uniform_(random_) < share;
  }
  std::size_t below(std::size_t n) { return random_() % n; }
  void lose_pulse(std::size_t k) { lost_rise_[k] = lost_fall_[k] = true; }
  void glitch(std::size_t k);
  void runt(std::size_t k);
  std::vector<std::int64_t> levels_kept() const;

  const std::vector<std::int64_t>& rises_;
  const std::vector<std::int64_t>& falls_;
  GlitchPlace place_;
  std::mt19937_64& random_;
  std::uniform_real_distribution<double> uniform_{0.0, 1.0};
  std::vector<bool> lost_rise_, lost_fall_;
  std::vector<std::int64_t> toggles_;
};

/// A glitch in the high time of cycle k, or in the low time after it.
void Damage::glitch(std::size_t k) {
  constexpr std::int64_t kWidest = 3;
  if (place_ == GlitchPlace::kOverEdges) {
    if (k + 1 == rises_.size()) return;
    const std::int64_t start =
        rises_[k] + static_cast<std::int64_t>(below(
                        static_cast<std::size_t>(rises_[k + 1] - rises_[k])));
    const auto width = static_cast<std::int64_t>(1 + below(kWidest));
    toggles_.insert(toggles_.end(), {start, start + width});
    return;
  }
  const bool high = place_ == GlitchPlace::kHigh ||
                    (place_ != GlitchPlace::kLow && below(2) == 0);
  if (!high && k + 1 == rises_.size()) return;
  const std::int64_t from = high ? rises_[k] : falls_[k];
  const std::int64_t to = high ? falls_[k] : rises_[k + 1];
  const std::int64_t room = to - from - 2;  // one sample clear at either end
  if (room < 1) return;
  const auto width = static_cast<std::int64_t>(
      1 + below(static_cast<std::size_t>(std::min(room, kWidest))));
  const auto later = static_cast<std::int64_t>(
      below(static_cast<std::size_t>(room - width + 1)));
  const std::int64_t start =
      from + 1 + (place_ == GlitchPlace::kBesideEdge ? 0 : later);
  toggles_.insert(toggles_.end(), {start, start + width});
}

void Damage::runt(std::size_t k) {
  const std::int64_t third = (falls_[k] - rises_[k]) / 3;
  if (third < 1) return;
  toggles_.insert(toggles_.end(), {rises_[k] + third, rises_[k] + 2 * third});
}

void Damage::spread(const EdgeFaults& faults) {
  for (std::size_t k = 0; k < rises_.size(); ++k) {
    if (happens(faults.lost_pulses)) lose_pulse(k);
    if (happens(faults.lost_edges)) lost_rise_[k] = true;
    if (happens(faults.lost_edges)) lost_fall_[k] = true;
    if (happens(faults.glitches)) glitch(k);
    if (happens(faults.runts)) runt(k);
  }
}

void Damage::single(const EdgeFaults& faults) {
  constexpr std::size_t kEnd = 5, kBurst = 10;
  const std::size_t n = rises_.size();
  for (std::size_t i = 0; i < faults.drops; ++i) lose_pulse(below(n));
  for (std::size_t i = 0; i < faults.spikes; ++i) glitch(below(n));
  for (std::size_t i = 0; i < faults.bursts; ++i) {
    const std::size_t first = below(n - kBurst);
    for (std::size_t k = first; k < first + kBurst; ++k) lose_pulse(k);
  }
  for (std::size_t i = 0; i < faults.at_ends; ++i) {
    lose_pulse(1 + below(kEnd - 1));
    lose_pulse(n - kEnd + below(kEnd - 1));
    glitch(below(kEnd));
    glitch(n - kEnd + below(kEnd));
  }
}

/// The edges not lost that change the level.
std::vector<std::int64_t> Damage::levels_kept() const {
  std::vector<std::int64_t> kept;
  bool high = false;
  for (std::size_t k = 0; k < rises_.size(); ++k) {
    if (!lost_rise_[k] && !high) {
      kept.push_back(rises_[k]);
      high = true;
    }
    if (!lost_fall_[k] && high) {
      kept.push_back(falls_[k]);
      high = false;
    }
  }
  return kept;
}

DamagedClock Damage::result() const {
  std::vector<std::int64_t> all = levels_kept();
  all.insert(all.end(), toggles_.begin(), toggles_.end());
  std::sort(all.begin(), all.end());
  DamagedClock out;
  for (std::int64_t t : all) {
    if (!out.changes.empty() && out.changes.back() == t) {
      out.changes.pop_back();
    } else {
      out.changes.push_back(t);
    }
  }
  std::optional<std::size_t> first, last;
  std::int64_t seen = 0;
  for (std::size_t i = 0; i < out.changes.size(); ++i) {
    const auto& edges = i % 2 == 0 ? rises_ : falls_;
    const auto at =
        std::lower_bound(edges.begin(), edges.end(), out.changes[i]);
    if (at == edges.end() || *at != out.changes[i]) {
      ++out.extra_edges;
    } else if (i % 2 == 0) {
      last = static_cast<std::size_t>(at - edges.begin());
      if (!first) first = last;
      ++seen;
    }
  }
  if (first) {
    out.lost_cycles = static_cast<std::int64_t>(*last - *first) + 1 - seen;
  }
  return out;
}

}  // namespace

DamagedClock damage_edges(const SampledEdges& clock, const EdgeFaults& faults,
                          std::mt19937_64& random) {
  Damage damage(clock, faults.place, random);
  damage.spread(faults);
  damage.single(faults);
  return damage.result();
}

}  // namespace clockassay
