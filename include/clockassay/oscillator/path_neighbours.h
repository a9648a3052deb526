// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/oscillator/clock_path.h"

namespace clockassay {

enum class PathNeighbourKind {
  kOneMore,        ///< a whole factor n counted as n + 1
  kOneLess,        ///< a whole factor n counted as n - 1
  kFactorMissing,  ///< a factor not applied
  kFactorTwice,    ///< a factor applied twice
  kTwoOneMore,     ///< two dividers, each one too large
  kDoubled,        ///< the whole path times two
  kHalved,         ///< the whole path over two
};

/// A clock path one plausible mistake away from the intended one.
struct PathNeighbour {
  PathNeighbourKind kind;
  std::string expression;   ///< as parse_clock_path() reads it
  std::string description;  ///< "divider 4 counted as 5 (off by one)"
  Rational ratio;           ///< measured over intended; never 1
  Rational frequency_hz;    ///< what the pin would show
  /// The first factor that is wrong, from 0; the number of factors: something
  /// behind all of them.
  std::size_t factor = 0;
  std::vector<PathFactor> factors = {};  ///< of that path
};

/// Every neighbour of `path`: each whole factor off by one either way, each
/// factor missing or applied twice, each pair of whole dividers one too large,
/// and the whole path doubled or halved.
/// Model:  a register that holds n but divides by n + 1 gives n/(n + 1), so
///         the error shrinks as 1/n; an error of the source does not.
/// Out:    in the order of the factors, then the whole path. Neighbours that
///         say the same are listed once; equal ratios with different reasons
///         are all listed, because a measurement cannot tell them apart.
/// Errors: kOutOfRange when a neighbour leaves the range of Rational.
Result<std::vector<PathNeighbour>> path_neighbours(const ClockPath& path);

}  // namespace clockassay
