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

}  // namespace clockassay
