// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/drift/assay.h"

namespace clockassay {

/// A published law of AT cuts about 25 °C: error = a x + b x^2 + c x^3,
/// x = T - 25, a = a_per_minute * minutes from the zero angle. In ppm.
struct AtLaw {
  double a_per_minute;
  double b;
  double c;
  const char* source;
  bool from_memory;  ///< shown beside the other, never decides
};

/// The laws known: the first is reckoned with, the others are rivals.
std::span<const AtLaw> at_laws();

/// The error at a temperature, relative to that at 25 °C.
Ppm at_cut_error(const AtLaw& law, double minutes, double temperature_c);

enum class PartKind {
  kNotTold,
  kAtCut,
  kTuningFork,
  kBtCut,
  kRcOscillator,
  kNoQuartz  ///< steeper than quartz, and an RC oscillator need not be
};

/// "not told", "AT cut", "tuning fork", "BT cut", "RC oscillator", "no
/// quartz".
const char* part_kind_name(PartKind kind);

/// The angle between a crystal's cut and that of zero slope at 25 °C.
struct CutAngle {
  double minutes = 0.0;
  double expanded = 0.0;  ///< by the curve alone, not by the law
  AtLaw law;
};

struct PartFinding {
  PartKind kind = PartKind::kNotTold;
  std::vector<CutAngle> cut_angles;  ///< of an AT cut, one for each law
  std::vector<std::string> reasons;  ///< with where each figure is from
};

/// What the curve says of the part that makes it.
/// In:     frequency  of the crystal, where it is known: a curve does not tell
///         a tuning fork from a BT cut, the frequency does
/// Source: docs/drift.md#the-part
PartFinding infer_part(const DriftAssay& assay, std::optional<Hertz> frequency);

}  // namespace clockassay
