// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/capture_reading.h"

#include <algorithm>

#include "app/input_source.h"
#include "clockassay/analysis/analyse.h"
#include "clockassay/capture/capture_reader.h"

namespace clockassay {
namespace {

// Whether a warning says that the file departs from the grammar of its format,
// rather than something about the clock or the sampling.
bool departs_from_grammar(WarningCode code) {
  switch (code) {
    case WarningCode::kTimescaleMissing:
    case WarningCode::kTimescaleOdd:
    case WarningCode::kHeaderUnfinished:
    case WarningCode::kTruncatedEnd:
    case WarningCode::kUndeclaredIds:
    case WarningCode::kUnusualSyntax:
    case WarningCode::kDuplicateNames:
    case WarningCode::kSamplingContradicted:
      return true;
    default:
      return false;
  }
}

tl::unexpected<Error> in_file(Error error, const std::string& path) {
  if (error.path.empty()) error.path = path;
  return tl::unexpected(std::move(error));
}

}  // namespace

Result<CaptureResult> read_and_analyse(const std::string& path,
                                       const ReadingArguments& arguments,
                                       const ChannelChoice& channels,
                                       ThreadPool& pool) {
  auto source = InputSource::open(path);
  if (!source) return tl::unexpected(source.error());
  const ParallelFor parallel_for =
      [&pool](std::size_t count, const std::function<void(std::size_t)>& task) {
        pool.run(count, task);
      };
  ReadOptions read_options;
  read_options.channels = channels.names;
  read_options.skip_missing_channels = channels.may_be_missing;
  read_options.sample_rate_hz = arguments.sample_rate_hz;
  read_options.format = arguments.format;
  read_options.csv = arguments.csv;
  read_options.analogue = arguments.analogue;
  PieceOptions pieces;
  pieces.jobs = arguments.jobs.value_or(machine_jobs());
  const auto capture = read_capture(
      [&source](std::span<char> buffer) { return source->read(buffer); },
      read_options, pieces, parallel_for);
  if (!capture) return in_file(capture.error(), path);
  if (arguments.strict) {
    const auto odd = std::find_if(
        capture->warnings.begin(), capture->warnings.end(),
        [](const Warning& w) { return departs_from_grammar(w.code); });
    if (odd != capture->warnings.end()) {
      return in_file(Error{ErrorCode::kBadData, odd->message,
                           "without --strict this is a warning"},
                     path);
    }
  }
  AnalysisOptions options;
  options.timebase = arguments.timebase;
  options.coverage = arguments.coverage;
  options.from_s = arguments.from_s;
  options.span_s = arguments.span_s;
  return analyse_capture(*capture, path, options, parallel_for);
}

}  // namespace clockassay
