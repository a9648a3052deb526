// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/compare_command.h"

#include <algorithm>
#include <utility>

#include "app/capture_reading.h"
#include "app/delivery.h"
#include "app/input_source.h"
#include "app/instrument_file.h"
#include "app/picture_files.h"
#include "clockassay/analysis/stored_result.h"
#include "clockassay/report/junit_report.h"
#include "clockassay/report/report.h"
#include "verdict/advice.h"

namespace clockassay {
namespace {

tl::unexpected<Error> in_file(Error error, const std::string& path) {
  if (error.path.empty()) error.path = path;
  return tl::unexpected(std::move(error));
}

/// A capture, as the result that `measure --json` would have stored of it: one
/// way from captures to figures.
Result<StoredResult> measure(const std::string& path,
                             const ReadingArguments& reading,
                             const Record& head, ThreadPool& pool,
                             Record& record) {
  Understanding understood;
  // A channel that is gone is what is asked about.
  auto capture = read_and_analyse(path, reading, {reading.channels, true}, pool,
                                  understood);
  if (!capture) return tl::unexpected(capture.error());
  Record alone = head;
  alone.command = "measure";
  alone.captures.push_back(*capture);
  record.captures.push_back(*std::move(capture));
  const auto json = json_report(alone);
  if (!json) return tl::unexpected(json.error());
  return parse_stored_result(*json);
}

// By its whole name, or what follows the last scope of it.
bool is_meant(const StoredClock& clock, const std::string& asked) {
  return clock.channel == asked || clock.channel.ends_with('.' + asked);
}

bool is_asked(const StoredClock& clock,
              const std::vector<std::string>& channels) {
  return channels.empty() || std::any_of(channels.begin(), channels.end(),
                                         [&clock](const std::string& asked) {
                                           return is_meant(clock, asked);
                                         });
}

// One that is in neither was named wrongly, and must not be passed over.
Result<void> check_channels(const std::vector<StoredResult>& results,
                            const std::vector<std::string>& channels) {
  for (const std::string& asked : channels) {
    const bool is_there = std::any_of(
        results.begin(), results.end(), [&asked](const StoredResult& r) {
          return std::any_of(
              r.clocks.begin(), r.clocks.end(),
              [&asked](const StoredClock& c) { return is_meant(c, asked); });
        });
    if (!is_there) {
      return failure(ErrorCode::kUsage,
                     "--channel: found \"" + asked +
                         "\", which has a clock neither before nor after",
                     "clockassay measure says what is on each channel");
    }
  }
  return {};
}

// What a stored result was measured by stands in it.
Result<void> check_options(const ReadingArguments& reading) {
  const char* option = reading.reference         ? "--reference"
                       : reading.timebase_stated ? "--timebase"
                                                 : nullptr;
  if (option == nullptr) return {};
  return failure(
      ErrorCode::kUsage,
      std::string(option) + ": a stored result says what it was measured by",
      "leave it out, or compare the captures");
}

Result<StoredResult> load(const std::string& path,
                          const ReadingArguments& reading, const Record& head,
                          ThreadPool& pool, Record& record,
                          std::size_t& stored) {
  const auto beginning = path == "-" ? Result<std::string>("") : peek_at(path);
  if (!beginning) return tl::unexpected(beginning.error());
  Result<StoredResult> result;
  if (looks_like_json(*beginning)) {
    ++stored;
    const auto text = read_short_data(path, "a stored result");
    if (!text) return tl::unexpected(text.error());
    result = parse_stored_result(*text);
  } else {
    result = measure(path, reading, head, pool, record);
  }
  if (!result) return in_file(result.error(), path);
  return result;
}

std::vector<ClockSeen> clocks_of(const StoredResult& result,
                                 const std::vector<std::string>& channels) {
  std::vector<ClockSeen> clocks;
  for (const StoredClock& clock : result.clocks) {
    if (is_asked(clock, channels)) clocks.push_back(seen_of(clock));
  }
  return clocks;
}

ComparisonOptions options_of(const CommandLine& line, const Record& record) {
  ComparisonOptions options;
  options.coverage = line.reading.coverage;
  options.limit = line.compare.limit;
  if (!line.compare.same_timebase) return options;
  options.moves = Ppm(kMovesBetweenCapturesPpm);
  if (record.instrument && record.instrument->timebase_stability) {
    options.moves = record.instrument->timebase_stability;
  }
  if (line.compare.moves) options.moves = line.compare.moves;
  return options;
}

Timebase timebase_of(const StoredResult& result) {
  return result.clocks.empty() ? Timebase{} : result.clocks.front().timebase;
}

Result<ComparisonResult> compare(const StoredResult& before,
                                 const StoredResult& after,
                                 const CommandLine& line,
                                 const Record& record) {
  ComparisonResult out;
  out.before = line.reading.captures[0];
  out.after = line.reading.captures[1];
  out.timebase_before = timebase_of(before);
  out.timebase_after = timebase_of(after);
  out.options = options_of(line, record);
  out.movement_assumed =
      line.compare.same_timebase && !line.compare.moves &&
      !(record.instrument && record.instrument->timebase_stability);
  const auto clocks = clocks_of(before, line.reading.channels);
  if (clocks.empty()) {
    Error error{ErrorCode::kBadData, "shows no clock that could have moved",
                "clockassay measure --explain says what is in it"};
    error.path = out.before;
    return tl::unexpected(std::move(error));
  }
  out.shifts = compare_clocks(clocks, clocks_of(after, line.reading.channels),
                              out.options);
  out.moved_alike = moved_alike(out.shifts, out.options.coverage);
  return out;
}

Result<void> check_paths(const CommandLine& line) {
  std::vector<std::string> inputs = line.reading.captures;
  if (line.reading.instrument) inputs.push_back(*line.reading.instrument);
  std::vector<std::string> outputs;
  for (const auto& path :
       {line.reading.json, line.reading.report, line.compare.junit}) {
    if (path) outputs.push_back(*path);
  }
  add_pictures(line.reading.plots, outputs);
  if (auto checked = check_outputs(inputs, outputs); !checked) return checked;
  return check_pictures(line.reading.plots, "compare");
}

/// Both are read, so that the errors of both are told.
void run(const CommandLine& line, Record& record) {
  CommandLine with_instrument = line;
  auto instrument = load_instrument(with_instrument.reading);
  if (!instrument) return add_error(record, instrument.error());
  const ReadingArguments& reading = with_instrument.reading;
  record.instrument = *instrument;
  record.timebase = reading.timebase.value_or(Timebase{});
  if (reading.reference) record.timebase.kind = TimebaseKind::kReference;
  const Record head = record;
  ThreadPool pool(reading.jobs.value_or(machine_jobs()));
  std::vector<StoredResult> results;
  std::size_t stored = 0;
  for (const std::string& path : reading.captures) {
    auto result = load(path, reading, head, pool, record, stored);
    if (result) {
      results.push_back(*std::move(result));
    } else {
      add_error(record, result.error());
    }
  }
  if (results.size() != 2) return;
  if (auto fits = check_options(reading); stored == 2 && !fits) {
    return add_error(record, fits.error());
  }
  if (auto checked = check_channels(results, reading.channels); !checked) {
    return add_error(record, checked.error());
  }
  auto comparison = compare(results[0], results[1], with_instrument, record);
  if (comparison) {
    record.comparison = *std::move(comparison);
  } else {
    add_error(record, comparison.error());
  }
}

}  // namespace

ExitCode run_compare(const CommandLine& line, const std::string& version) {
  Record record;
  record.tool_version = version;
  record.command = "compare";
  record.coverage = line.reading.coverage;
  if (const auto checked = check_paths(line); !checked) {
    return refuse_outputs(record, checked.error(), line.reading.json);
  }
  run(line, record);
  if (line.compare.junit) {
    const auto done = write_output(*line.compare.junit, junit_report(record));
    if (!done) add_error(record, done.error());
  }
  return deliver(record, line.reading, false);
}

}  // namespace clockassay
