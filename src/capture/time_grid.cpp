// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/time_grid.h"

namespace clockassay {

const char* sample_interval_source_name(SampleIntervalSource source) {
  switch (source) {
    case SampleIntervalSource::kOption:
      return "option";
    case SampleIntervalSource::kHeader:
      return "header";
    case SampleIntervalSource::kRows:
      return "rows";
    case SampleIntervalSource::kInferred:
      return "inferred";
    case SampleIntervalSource::kUnknown:
      break;
  }
  return "unknown";
}

}  // namespace clockassay
