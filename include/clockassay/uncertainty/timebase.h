// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/units.h"

namespace clockassay {

enum class TimebaseKind { kAssumed, kStated, kCalibrated, kReference };

/// The capturing instrument's own clock. `offset` is its frequency deviation:
/// positive runs fast, so it sees every frequency low, and the true frequency
/// is (1 + offset) times the indicated one. `tolerance` is the half-width
/// within which the deviation from that lies, taken as rectangular.
struct Timebase {
  TimebaseKind kind = TimebaseKind::kAssumed;
  Ppm offset{0.0};
  /// 100 ppm when nothing is stated: common practice, no source.
  Ppm tolerance{100.0};
};

/// The name reports print, such as "assumed".
const char* timebase_kind_name(TimebaseKind kind);

/// What is called so; absent: nothing is.
std::optional<TimebaseKind> timebase_kind_of(std::string_view name);

/// Whether the same is known of both. Two references are the same kind of
/// knowledge, whatever each found.
bool is_known_alike(const Timebase& a, const Timebase& b);

}  // namespace clockassay
