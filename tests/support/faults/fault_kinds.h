// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "support/faults/scene.h"

namespace clockassay::faults {

/// A kind of fault; nullopt: what was drawn cannot show it, draw again.
struct FaultKind {
  const char* name;
  std::function<std::optional<Scene>(Draw&)> make;
};

std::vector<FaultKind> source_kinds();
std::vector<FaultKind> path_kinds();
std::vector<FaultKind> crystal_kinds();
std::vector<FaultKind> loop_kinds();
std::vector<FaultKind> sampling_kinds();
std::vector<FaultKind> damage_kinds();
std::vector<FaultKind> pin_kinds();
std::vector<FaultKind> healthy_kinds();

Rational source_of(const Scene& scene);

/// All clocks run at `ratio` of what is expected, and `ppm` off that.
void scale_all(Scene& scene, double ratio, double ppm);
void scale_one(Scene& scene, std::size_t clock, double ratio, double ppm);

/// What is true of one clock or of all; whether that can be told from other
/// causes is looked up.
void blame(Scene& scene, std::size_t clock,
           const std::vector<TrueCause>& causes);
void blame_all(Scene& scene, const std::vector<TrueCause>& causes);

/// An RC oscillator of `rc_hz` in place of the source: noise of its periods,
/// and its frequency wanders over milliseconds.
void make_noisy(Scene& scene, double rc_hz, Draw& draw);

/// Slow and smooth, of that size.
std::function<double(double)> slow_wander(Draw& draw, double size_ppm);

}  // namespace clockassay::faults
