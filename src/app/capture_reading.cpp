// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/capture_reading.h"

#include <algorithm>
#include <array>
#include <mutex>
#include <new>
#include <optional>
#include <utility>

#include "app/error_of_exception.h"
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
  UnpackLimit unpack_limit;
  ByteSource text;
  PlaceSource any_place;
  std::optional<ReadAhead> ahead;  // goes first: its thread uses the others

  // `ahead_of_parsing`: the text is read and unpacked by a thread of its own.
  OpenCapture(InputSource source, const std::string& path, bool show_progress,
              UnpackLimit limit, bool ahead_of_parsing)
      : input(std::move(source)),
        progress(show_progress, path, input.size()),
        unpack_limit(limit),
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
        compression, unpack_limit);
  }
};

UnpackLimit unpack_limit(const ReadingArguments& arguments) {
  UnpackLimit limit;
  limit.ratio = arguments.unpack_limit.value_or(limit.ratio);
  return limit;
}

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

AnalysisOptions analysis_options(const ReadingArguments& arguments,
                                 const ChannelChoice& channels) {
  AnalysisOptions analysis;
  analysis.pictures = arguments.pictures;
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
  return analysis;
}

// What the rim adds to a result, and what it refuses of it.
Result<void> complete(const ReadingArguments& arguments,
                      const OpenCapture& open, const Understanding& understood,
                      CaptureResult& result) {
  if (arguments.strict) {
    if (auto error = refused_when_strict(result)) {
      return tl::unexpected(*std::move(error));
    }
  }
  if (open.compression != Compression::kNone) {
    result.compression = compression_name(open.compression);
    result.compressed_bytes = open.taken;
  }
  if (arguments.explain) result.understanding = understood;
  return {};
}

// Memory that runs out is told of the capture it ran out at.
template <class Read>
auto of_capture(const std::string& path, const Read& read) -> decltype(read()) {
  try {
    return read();
  } catch (const std::bad_alloc& e) {
    return tl::unexpected(error_of(e, path));
  }
}

ParallelFor on_threads(ThreadPool& pool) {
  return
      [&pool](std::size_t count, const std::function<void(std::size_t)>& task) {
        pool.run(count, task);
      };
}

// Reads a capture, then lets `analyse(capture, options)` make a result of it,
// of which `result_in` is what every capture has.
template <class Outcome, class Analyse, class ResultIn>
Result<Outcome> read_then(const std::string& path,
                          const ReadingArguments& arguments,
                          const ChannelChoice& channels, ThreadPool& pool,
                          Understanding& understood, const Analyse& analyse,
                          const ResultIn& result_in) {
  auto source = InputSource::open(path);
  if (!source) return tl::unexpected(source.error());
  const ParallelFor parallel_for = on_threads(pool);
  ReadOptions options = read_options(arguments, channels);
  options.header_understood = [&understood](const Understanding& header) {
    understood = header;
  };
  PieceOptions pieces;
  pieces.jobs = arguments.jobs.value_or(machine_jobs());
  const bool by_place = is_plain_file(*source);
  OpenCapture open(std::move(*source), path,
                   arguments.progress && !arguments.quiet,
                   unpack_limit(arguments), !by_place && pieces.jobs > 1);
  const auto capture =
      by_place ? read_capture(open.any_place, options, pieces, parallel_for)
               : read_capture(open.text, options, pieces, parallel_for);
  if (auto error = open.input.changed()) return tl::unexpected(*error);
  if (!capture) {
    Error error = root_cause(open, capture.error());
    add_reading_facts(open, arguments, "", understood);
    return in_file(std::move(error), path);
  }
  understood = capture->understanding;
  add_reading_facts(open, arguments, capture->format, understood);
  open.progress.erase();
  const AnalysisOptions analysis = analysis_options(arguments, channels);
  if (auto error = refuse_many(*capture)) {
    return in_file(std::move(*error), path);
  }
  if (auto error = refuse_stretch(*capture, analysis)) {
    return in_file(std::move(*error), path);
  }
  Result<Outcome> analysed = analyse(*capture, analysis);
  if (!analysed) return in_file(analysed.error(), path);
  const auto completed =
      complete(arguments, open, understood, result_in(*analysed));
  if (!completed) return in_file(completed.error(), path);
  return analysed;
}

}  // namespace

Result<CaptureResult> read_and_analyse(const std::string& path,
                                       const ReadingArguments& arguments,
                                       const ChannelChoice& channels,
                                       ThreadPool& pool,
                                       Understanding& understood) {
  const ParallelFor parallel_for = on_threads(pool);
  const auto analyse =
      [&](const Capture& capture,
          const AnalysisOptions& options) -> Result<CaptureResult> {
    if (arguments.reference) {
      return analyse_against(*arguments.reference, capture, path, options,
                             parallel_for);
    }
    return analyse_capture(capture, path, options, parallel_for);
  };
  return of_capture(path, [&] {
    return read_then<CaptureResult>(
        path, arguments, channels, pool, understood, analyse,
        [](CaptureResult& result) -> CaptureResult& { return result; });
  });
}

Result<CutCapture> read_and_cut(const std::string& path,
                                const ReadingArguments& arguments,
                                const ChannelChoice& channels,
                                const TemperatureLog& log, ThreadPool& pool,
                                Understanding& understood) {
  const ParallelFor parallel_for = on_threads(pool);
  const auto analyse =
      [&](const Capture& capture,
          const AnalysisOptions& options) -> Result<CutCapture> {
    const double whole =
        static_cast<double>(
            (capture.last_stamp - capture.first_stamp).count()) *
        capture.grid.tick_s.to_double();
    CutCapture cut;
    cut.from_s = options.from_s ? options.from_s->to_double() : 0.0;
    cut.to_s = options.span_s
                   ? std::min(whole, cut.from_s + options.span_s->to_double())
                   : whole;
    cut.windows = cut_windows(log, cut.from_s, cut.to_s);
    auto analysed = analyse_windows(arguments.reference, capture, path, options,
                                    cut.windows, parallel_for);
    if (!analysed) return tl::unexpected(analysed.error());
    cut.result = *std::move(analysed);
    return cut;
  };
  return of_capture(path, [&] {
    return read_then<CutCapture>(
        path, arguments, channels, pool, understood, analyse,
        [](CutCapture& cut) -> CaptureResult& { return cut.result.capture; });
  });
}

}  // namespace clockassay
