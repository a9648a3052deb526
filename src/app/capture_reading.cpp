// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/capture_reading.h"

#include <algorithm>
#include <array>
#include <mutex>
#include <optional>
#include <utility>

#include "app/input_source.h"
#include "app/progress_line.h"
#include "app/read_ahead.h"
#include "clockassay/analysis/analyse.h"
#include "clockassay/capture/capture_reader.h"
#include "clockassay/capture/decompress.h"

namespace clockassay {
namespace {

tl::unexpected<Error> in_file(Error error, const std::string& path) {
  if (error.path.empty()) error.path = path;
  return tl::unexpected(std::move(error));
}

ReadOptions read_options(const ReadingArguments& arguments,
                         const ChannelChoice& channels) {
  ReadOptions options;
  options.channels = channels.names;
  if (arguments.reference && !options.channels.empty()) {
    options.channels.push_back(arguments.reference->channel);
  }
  options.skip_missing_channels = channels.may_be_missing;
  options.sample_rate_hz = arguments.sample_rate_hz;
  options.format = arguments.format;
  options.csv = arguments.csv;
  options.analogue = arguments.analogue;
  return options;
}

// One input being read: the file, what it is packed in, how far it is.
struct OpenCapture {
  InputSource input;
  ProgressLine progress;
  std::int64_t taken = 0;    // bytes of the file, for what is used of it
  std::mutex taking;         // while several read
  std::int64_t fetched = 0;  // bytes that were read in order
  Compression compression = Compression::kNone;
  ByteSource text;
  PlaceSource any_place;
  std::optional<ReadAhead> ahead;  // goes first: its thread uses the others

  // `ahead_of_parsing`: the text is read and unpacked by a thread of its own.
  OpenCapture(InputSource source, const std::string& path, bool show_progress,
              bool ahead_of_parsing)
      : input(std::move(source)),
        progress(show_progress, path, input.size()),
        text([this](std::span<char> buffer) {
          auto got = ahead->read(buffer);
          taken = ahead->position();
          progress.show(taken);
          return got;
        }),
        any_place([this](std::int64_t offset, std::span<char> buffer) {
          auto got = input.read_at(offset, buffer);
          const std::lock_guard lock(taking);
          if (got) taken += static_cast<std::int64_t>(*got);
          progress.show(taken);
          return got;
        }) {
    const bool on_thread = ahead_of_parsing && input.make_interruptible();
    ahead.emplace(AheadSource{unpacked(), [this] { return fetched; },
                              [this] { input.interrupt(); }},
                  on_thread);
  }
  OpenCapture(const OpenCapture&) = delete;
  OpenCapture& operator=(const OpenCapture&) = delete;

 private:
  ByteSource unpacked() {
    return decompress(
        [this](std::span<char> buffer) {
          auto got = input.read(buffer);
          if (got) fetched += static_cast<std::int64_t>(*got);
          return got;
        },
        compression);
  }
};

// Whether its text is the bytes of a file, any of which can be read.
bool is_plain_file(const InputSource& input) {
  if (!input.is_file()) return false;
  std::array<char, 1024> beginning;
  const auto got = input.read_at(0, beginning);
  return got && compression_of({beginning.data(), *got}) == Compression::kNone;
}

// A text that makes no sense may come from data that are damaged, which the
// checksum at their end tells; then that is what the user has to know.
Error root_cause(const OpenCapture& capture, Error error) {
  if (capture.compression == Compression::kNone ||
      error.code != ErrorCode::kBadData) {
    return error;
  }
  std::array<char, 65536> unused;
  while (true) {
    const auto got = capture.text(unused);
    if (!got) return got.error();
    if (*got == 0) return error;
  }
}

// What only the rim knows of how a capture was read; `format` is empty where
// it was refused.
void add_reading_facts(const OpenCapture& open,
                       const ReadingArguments& arguments,
                       const std::string& format,
                       Understanding& understanding) {
  if (!format.empty()) {
    understanding.facts.insert(
        understanding.facts.begin(),
        {"format", format,
         arguments.format.empty() ? "by its content" : "--format"});
  }
  if (open.compression != Compression::kNone) {
    understanding.facts.insert(
        understanding.facts.begin(),
        {"compression",
         std::string(compression_name(open.compression)) + ", " +
             std::to_string(open.taken) + " bytes",
         "by its first bytes"});
  }
  if (format != "vcd") return;
  for (const std::string& option : arguments.csv_only) {
    understanding.facts.push_back(
        {option, "not used", "a VCD file says this itself"});
  }
}

std::optional<Error> refused_when_strict(const CaptureResult& capture) {
  const auto odd = std::find_if(
      capture.warnings.begin(), capture.warnings.end(), [](const Warning& w) {
        return warning_info(w.code).refused_when_strict;
      });
  if (odd == capture.warnings.end()) return std::nullopt;
  return Error{ErrorCode::kBadData, odd->message,
               "without --strict this is a warning"};
}

}  // namespace

Result<CaptureResult> read_and_analyse(const std::string& path,
                                       const ReadingArguments& arguments,
                                       const ChannelChoice& channels,
                                       ThreadPool& pool,
                                       Understanding& understood) {
  auto source = InputSource::open(path);
  if (!source) return tl::unexpected(source.error());
  const ParallelFor parallel_for =
      [&pool](std::size_t count, const std::function<void(std::size_t)>& task) {
        pool.run(count, task);
      };
  ReadOptions options = read_options(arguments, channels);
  options.header_understood = [&understood](const Understanding& header) {
    understood = header;
  };
  PieceOptions pieces;
  pieces.jobs = arguments.jobs.value_or(machine_jobs());
  const bool by_place = is_plain_file(*source);
  OpenCapture open(std::move(*source), path,
                   arguments.progress && !arguments.quiet,
                   !by_place && pieces.jobs > 1);
  const auto capture =
      by_place ? read_capture(open.any_place, options, pieces, parallel_for)
               : read_capture(open.text, options, pieces, parallel_for);
  if (!capture) {
    Error error = root_cause(open, capture.error());
    add_reading_facts(open, arguments, "", understood);
    return in_file(std::move(error), path);
  }
  understood = capture->understanding;
  add_reading_facts(open, arguments, capture->format, understood);
  open.progress.erase();
  AnalysisOptions analysis;
  analysis.timebase = arguments.timebase.value_or(Timebase{});
  analysis.input_jitter_rms = arguments.input_jitter_rms;
  analysis.edge_skew = arguments.edge_skew;
  analysis.coverage = arguments.coverage;
  analysis.from_s = arguments.from_s;
  analysis.span_s = arguments.span_s;
  analysis.spectrum = arguments.spectrum;
  analysis.settling = channels.settling;
  analysis.expected = channels.expected;
  analysis.stability = arguments.stability;
  if (auto error = refuse_stretch(*capture, analysis)) {
    return in_file(std::move(*error), path);
  }
  Result<CaptureResult> analysed =
      arguments.reference
          ? analyse_against(*arguments.reference, *capture, path, analysis,
                            parallel_for)
          : analyse_capture(*capture, path, analysis, parallel_for);
  if (!analysed) return in_file(analysed.error(), path);
  CaptureResult& result = *analysed;
  if (arguments.strict) {
    if (auto error = refused_when_strict(result)) {
      return in_file(std::move(*error), path);
    }
  }
  if (open.compression != Compression::kNone) {
    result.compression = compression_name(open.compression);
    result.compressed_bytes = open.taken;
  }
  if (arguments.explain) result.understanding = understood;
  return analysed;
}

}  // namespace clockassay
