// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/timebase.h"

namespace clockassay {

const char* timebase_kind_name(TimebaseKind kind) {
  switch (kind) {
    case TimebaseKind::kAssumed:
      return "assumed";
    case TimebaseKind::kStated:
      return "stated";
    case TimebaseKind::kCalibrated:
      return "calibrated";
    case TimebaseKind::kReference:
      return "reference";
  }
  return "unknown";
}

std::optional<TimebaseKind> timebase_kind_of(std::string_view name) {
  for (const TimebaseKind kind :
       {TimebaseKind::kAssumed, TimebaseKind::kStated,
        TimebaseKind::kCalibrated, TimebaseKind::kReference}) {
    if (name == timebase_kind_name(kind)) return kind;
  }
  return std::nullopt;
}

bool is_known_alike(const Timebase& a, const Timebase& b) {
  if (a.kind != b.kind) return false;
  return a.kind == TimebaseKind::kReference ||
         (a.offset.value() == b.offset.value() &&
          a.tolerance.value() == b.tolerance.value());
}

}  // namespace clockassay
