// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

/// A band of ppm of the expected frequency.
struct PpmBand {
  Ppm low{0.0};
  Ppm high{0.0};
};

/// What a source is specified for: "make tolerance", "temperature", "ageing".
struct LifeShare {
  std::string name;
  std::optional<PpmBand> band;  ///< absent: not stated
  bool counted = false;  ///< whether the clock may move by it from now on
  std::string why;       ///< it is counted, or not
};

/// The tolerance stack of one clock: where it is now, and how far temperature
/// and ageing may take it from there. Load and stray are in where it is now.
struct LifeStack {
  Ppm error{0.0};
  Ppm expanded_uncertainty{0.0};
  std::vector<LifeShare> shares;
  CombineRule combine = CombineRule::kSum;  ///< of those that count
  PpmBand moves;                            ///< combined; zero is within
  PpmBand altogether;                       ///< e - U and e + U, moved so far
};

}  // namespace clockassay
