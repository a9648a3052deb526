// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/compare_command.h"

#include <algorithm>
#include <utility>

#include "app/capture_reading.h"
#include "app/delivery.h"
#include "app/input_source.h"
#include "app/instrument_file.h"
#include "clockassay/analysis/stored_result.h"
#include "clockassay/report/junit_report.h"
#include "clockassay/report/report.h"

namespace clockassay {
namespace {

// What an instrument's rate moves between two captures unless it is told
// better: warm-up and room temperature. Chosen (docs/history.md).
constexpr double kMovesPpm = 1.0;

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
  auto capture = read_and_analyse(path, reading, {reading.channels, false},
                                  pool, understood);
  if (!capture) return tl::unexpected(capture.error());
  Record alone = head;
  alone.command = "measure";
  alone.captures.push_back(*capture);
  record.captures.push_back(*std::move(capture));
  const auto json = json_report(alone);
  if (!json) return tl::unexpected(json.error());
  return parse_stored_result(*json);
}

bool is_asked(const StoredClock& clock,
              const std::vector<std::string>& channels) {
  return channels.empty() || std::find(channels.begin(), channels.end(),
                                       clock.channel) != channels.end();
}

Result<StoredResult> load(const std::string& path,
                          const ReadingArguments& reading, const Record& head,
                          ThreadPool& pool, Record& record) {
  const auto beginning = path == "-" ? Result<std::string>("") : peek_at(path);
  if (!beginning) return tl::unexpected(beginning.error());
  Result<StoredResult> result;
  if (looks_like_json(*beginning)) {
    const auto text = read_short_data(path, "a stored result");
    if (!text) return tl::unexpected(text.error());
    result = parse_stored_result(*text);
  } else {
    result = measure(path, reading, head, pool, record);
  }
  if (!result) return in_file(result.error(), path);
  std::erase_if(result->clocks, [&reading](const StoredClock& c) {
    return !is_asked(c, reading.channels);
  });
  return result;
}

std::vector<ClockSeen> clocks_of(const StoredResult& result) {
  std::vector<ClockSeen> clocks;
  for (const StoredClock& clock : result.clocks) {
    clocks.push_back(seen_of(clock));
  }
  return clocks;
}

ComparisonOptions options_of(const CommandLine& line, const Record& record) {
  ComparisonOptions options;
  options.coverage = line.reading.coverage;
  options.limit = line.compare.limit;
  if (!line.compare.same_timebase) return options;
  options.moves = Ppm(kMovesPpm);
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
  out.shifts = compare_clocks(clocks_of(before), clocks_of(after), out.options);
  if (out.shifts.empty()) {
    return failure(ErrorCode::kBadData, "neither of the two shows a clock",
                   "clockassay measure --explain says what is in each");
  }
  out.moved_alike = moved_alike(out.shifts, out.options.coverage);
  return out;
}

Result<void> check_paths(const CommandLine& line) {
  std::vector<std::string> inputs = line.reading.captures;
  if (line.reading.instrument) inputs.push_back(*line.reading.instrument);
  std::vector<std::string> outputs;
  for (const auto& path : {line.reading.json, line.compare.junit}) {
    if (path) outputs.push_back(*path);
  }
  return check_outputs(inputs, outputs);
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
  for (const std::string& path : reading.captures) {
    auto result = load(path, reading, head, pool, record);
    if (result) {
      results.push_back(*std::move(result));
    } else {
      add_error(record, result.error());
    }
  }
  if (results.size() != 2) return;
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
    add_error(record, checked.error());
    // Nothing is written to a path that is also an input.
    return exit_code(checked.error().code);
  }
  run(line, record);
  if (line.compare.junit) {
    const auto done = write_output(*line.compare.junit, junit_report(record));
    if (!done) add_error(record, done.error());
  }
  return deliver(record, line.reading, false);
}

}  // namespace clockassay
