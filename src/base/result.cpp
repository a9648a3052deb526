// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/result.h"

namespace clockassay {

const char* error_code_name(ErrorCode code) {
  switch (code) {
    case ErrorCode::kUsage:
      return "usage";
    case ErrorCode::kBadData:
      return "bad_data";
    case ErrorCode::kNoInput:
      return "no_input";
    case ErrorCode::kReadFailed:
      return "read_failed";
    case ErrorCode::kNoMemory:
      return "no_memory";
    case ErrorCode::kCannotCreate:
      return "cannot_create";
    case ErrorCode::kWriteFailed:
      return "write_failed";
    case ErrorCode::kBadSpec:
      return "bad_specification";
    case ErrorCode::kTooFewEdges:
      return "too_few_edges";
    case ErrorCode::kOutOfRange:
      return "out_of_range";
    case ErrorCode::kInternal:
      return "internal";
  }
  return "internal";
}

}  // namespace clockassay
