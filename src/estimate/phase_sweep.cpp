// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/phase_sweep.h"

#include <algorithm>
#include <bit>
#include <utility>

namespace clockassay {
namespace {

std::int64_t quotient_up(std::int64_t a, std::int64_t b) {
  return (a + b - 1) / b;
}

/// The largest power of two that divides m and leaves so many steps.
std::int64_t cells_within(std::int64_t m, std::int64_t fewest_steps) {
  std::int64_t step = 1;
  while (m % (2 * step) == 0 && m / (2 * step) >= fewest_steps) step *= 2;
  return step;
}

std::int64_t whole_cells(std::int64_t m, std::int64_t step,
                         std::int64_t most_m) {
  return std::min((m + step / 2) / step, most_m / step) * step;
}

void size_parts(const SweepLimits& limits, SweepPlan& plan) {
  std::int64_t least = std::max(limits.fewest_in_part, plan.held_step);
  if (plan.in_parts > 0) {
    const std::int64_t reach = 3 * plan.taus[plan.in_parts - 1].m + 1;
    plan.overlap = quotient_up(reach, plan.held_step) * plan.held_step;
    // Chosen: at most a quarter is read twice.
    least = std::max(least, 4 * plan.overlap);
  }
  plan.part = static_cast<std::int64_t>(
      std::bit_ceil(static_cast<std::uint64_t>(least)));
}

/// What one part after the other is worked out in.
struct PartSpace {
  std::vector<double> phases;
  PhaseCells cells;
  PhaseCells pairs;
  CellTerms terms;
};

/// The terms that begin in part p, and its cells among those held.
void sweep_part(const PhaseSource& source, const SweepPlan& plan, std::size_t p,
                PartSpace& space, std::span<DeviationTerms> terms,
                PhaseCells& held) {
  const std::int64_t begin = static_cast<std::int64_t>(p) * plan.part;
  const std::int64_t own = std::min(plan.part, source.count - begin);
  space.phases.resize(static_cast<std::size_t>(
      std::min(own + plan.overlap, source.count - begin)));
  source.read(begin, space.phases);
  cells_of(space.phases, space.cells);
  for (std::int64_t step = 1; step < plan.held_step; step *= 2) {
    pair_cells(space.cells, space.pairs);
    space.terms.look_at(space.cells,
                        static_cast<std::size_t>(quotient_up(own, step)));
    for (std::size_t i = 0; i < terms.size(); ++i) {
      if (plan.taus[i].decimation != step) continue;
      const auto k = static_cast<std::size_t>(plan.taus[i].m / step);
      terms[i] = {space.terms.interval(k), space.terms.allan(k),
                  space.terms.modified(k), space.terms.hadamard(k),
                  space.terms.widest_range(k)};
    }
    std::swap(space.cells, space.pairs);
  }
  put_cells(space.cells,
            static_cast<std::size_t>(quotient_up(own, plan.held_step)),
            static_cast<std::size_t>(begin / plan.held_step), held);
}

/// The terms of the tau that are long, each sum a task, all ranges another.
void sweep_held(const SweepPlan& plan, const ParallelFor& parallel_for,
                CellTerms& held, std::span<DeviationTerms> terms) {
  const auto cells = [&](std::size_t i) {
    return static_cast<std::size_t>(plan.taus[i].m / plan.held_step);
  };
  parallel_for(terms.size() - plan.in_parts + 1, [&](std::size_t task) {
    if (task == 0) {
      for (std::size_t i = plan.in_parts; i < terms.size(); ++i) {
        terms[i].range = held.widest_range(cells(i));
      }
      return;
    }
    const std::size_t i = plan.in_parts + task - 1;
    terms[i].interval = held.interval(cells(i));
    terms[i].allan = held.allan(cells(i));
    terms[i].modified = held.modified(cells(i));
    terms[i].hadamard = held.hadamard(cells(i));
  });
}

}  // namespace

SweepPlan plan_sweep(std::int64_t count, std::vector<std::int64_t> factors,
                     std::int64_t most_m, const SweepLimits& limits) {
  SweepPlan plan;
  while (quotient_up(count, plan.held_step) > limits.most_held) {
    plan.held_step *= 2;
  }
  const std::int64_t longest_in_parts =
      plan.held_step > 1 ? limits.fewest_steps * plan.held_step - 1 : 0;
  std::sort(factors.begin(), factors.end());
  for (const std::int64_t m : factors) {
    PlannedTau tau{m, 1};
    if (m <= longest_in_parts) {
      tau.decimation = cells_within(m, limits.fewest_steps);
    } else {
      tau = {whole_cells(m, plan.held_step, most_m), plan.held_step};
    }
    if (!plan.taus.empty() && plan.taus.back().m == tau.m) continue;
    plan.taus.push_back(tau);
    if (m <= longest_in_parts) ++plan.in_parts;
  }
  size_parts(limits, plan);
  return plan;
}

PhaseSweep sweep_phases(const PhaseSource& source, const SweepPlan& plan,
                        const ParallelFor& parallel_for) {
  const auto parts =
      static_cast<std::size_t>(quotient_up(source.count, plan.part));
  PhaseCells cells = missing_cells(
      static_cast<std::size_t>(quotient_up(source.count, plan.held_step)));
  std::vector<std::vector<DeviationTerms>> slots(
      parts, std::vector<DeviationTerms>(plan.in_parts));
  // Chosen: memory that is used again so often costs next to nothing.
  constexpr std::size_t kPartsOfTask = 8;
  const std::size_t tasks = (parts + kPartsOfTask - 1) / kPartsOfTask;
  parallel_for(tasks, [&](std::size_t task) {
    PartSpace space;
    const std::size_t begin = task * kPartsOfTask;
    for (std::size_t p = begin; p < std::min(begin + kPartsOfTask, parts);
         ++p) {
      sweep_part(source, plan, p, space, slots[p], cells);
    }
  });
  PhaseSweep sweep;
  sweep.terms.resize(plan.taus.size());
  for (const auto& slot : slots) {
    for (std::size_t i = 0; i < slot.size(); ++i) sweep.terms[i].add(slot[i]);
  }
  CellTerms held;
  held.look_at(cells, cells.size());
  sweep_held(plan, parallel_for, held, sweep.terms);
  sweep.held = std::move(cells.first);
  return sweep;
}

}  // namespace clockassay
