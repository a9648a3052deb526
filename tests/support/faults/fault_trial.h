// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"
#include "clockassay/verdict/cause.h"

namespace clockassay::faults {

/// A cause that would be right. `ratio` and `names` ask for no more than what a
/// reader of the capture can know.
struct TrueCause {
  CauseCode code;
  std::string ratio = {};  ///< exact, measured over intended; empty: any
  std::string names = {};  ///< a suspect the words have to name; empty: none
};

/// What is true of one clock of a specification.
struct ClockTruth {
  double error_ppm = 0.0;         ///< of the pin itself, mean, of the expected
  double limit_ppm = 0.0;         ///< half-width of the make tolerance
  std::vector<TrueCause> causes;  ///< any of them is right; empty: no fault
  /// Whether a reader of this one capture could tell it from other causes.
  bool is_tellable = true;
  /// Not what is specified, whatever its frequency.
  bool must_not_pass = false;
};

/// A specification and a capture as users have them, with what is true.
struct FaultTrial {
  std::string kind;
  std::uint64_t seed = 0;
  std::string story;          ///< what was drawn, in a line
  std::string specification;  ///< JSON
  std::string capture;        ///< the file's bytes
  /// As on the command line.
  std::optional<std::string> timebase;
  std::optional<std::string> reference;
  /// Half-width of what is not known of the capture's time.
  double time_half_width_ppm = 0.0;
  std::vector<ClockTruth> truth;  ///< of the clocks, in their order
};

/// Names of all kinds of fault, of "healthy" as well.
std::span<const char* const> fault_kinds();

/// In:     kind  one of fault_kinds()
/// Out:    the same for the same kind and seed
FaultTrial make_fault_trial(std::string_view kind, std::uint64_t seed);

/// A healthy board whose error is where `place` says: 1 is the limit, 2 is the
/// limit and twice what is not known of the capture's time.
FaultTrial make_board_near_limit(double place, std::uint64_t seed);

/// Reads, analyses and judges it as `verify` does.
Result<Record> judge_fault_trial(const FaultTrial& trial);

}  // namespace clockassay::faults
