// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/drift_command.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "app/delivery.h"
#include "app/input_source.h"
#include "app/instrument_file.h"
#include "app/long_capture.h"
#include "app/picture_files.h"
#include "app/series_reading.h"
#include "clockassay/analysis/assay_series.h"
#include "clockassay/report/junit_report.h"

namespace clockassay {
namespace {

std::vector<std::string> outputs_of(const CommandLine& line) {
  std::vector<std::string> outputs;
  if (line.reading.json) outputs.push_back(*line.reading.json);
  if (line.reading.report) outputs.push_back(*line.reading.report);
  if (line.drift.junit) outputs.push_back(*line.drift.junit);
  add_pictures(line.reading.plots, outputs);
  return outputs;
}

tl::unexpected<Error> in_file(Error error, const std::string& path) {
  if (error.path.empty()) error.path = path;
  return tl::unexpected(std::move(error));
}

Result<TemperatureLog> load_log(const std::string& path) {
  const auto text = read_short_data(path, "a temperature log");
  if (!text) return tl::unexpected(text.error());
  auto log = read_temperature_log(*text);
  return log ? log : in_file(log.error(), path);
}

Result<std::vector<SeriesRow>> load_series(const std::string& path) {
  const auto text = read_short_data(path, "a series");
  if (!text) return tl::unexpected(text.error());
  auto rows = read_series(*text);
  return rows ? rows : in_file(rows.error(), path);
}

// That no output is one of the captures is known only here.
Result<void> check_captures(const std::vector<SeriesRow>& rows,
                            const CommandLine& line) {
  std::vector<std::string> inputs;
  for (const SeriesRow& row : rows) {
    if (!row.capture) continue;
    inputs.push_back(path_beside(line.reading.captures.front(), *row.capture));
  }
  return check_outputs(inputs, outputs_of(line));
}

/// `may_write`: false where an output turned out to be an input.
Result<MeasuredSeries> measure(const CommandLine& line, Record& record,
                               bool& may_write) {
  ThreadPool pool(line.reading.jobs.value_or(machine_jobs()));
  if (line.drift.temperature_log) {
    const auto log = load_log(*line.drift.temperature_log);
    if (!log) return tl::unexpected(log.error());
    return measure_long_capture(*log, line, pool, record);
  }
  const std::string& path = line.reading.captures.front();
  const auto rows = load_series(path);
  if (!rows) return tl::unexpected(rows.error());
  if (auto checked = check_captures(*rows, line); !checked) {
    may_write = false;
    return tl::unexpected(checked.error());
  }
  return measure_series(path, *rows, line, pool, record);
}

// Options that bear on captures, where there are none.
void tell_idle_options(const ReadingArguments& given, const Record& record,
                       MeasuredSeries& series) {
  if (!record.captures.empty() || !record.refused.empty() ||
      !record.errors.empty() || !series.silent.empty()) {
    return;
  }
  std::string idle;
  const auto note = [&idle](bool is_given, std::string_view name) {
    if (!is_given) return;
    idle += (idle.empty() ? "" : ", ") + std::string(name);
  };
  note(given.reference.has_value(), "--reference");
  note(given.sample_rate_hz.has_value(), "--sample-rate");
  note(given.from_s.has_value(), "--from");
  note(given.span_s.has_value(), "--span");
  note(given.analogue.has_value(), "--threshold");
  note(!given.format.empty(), "--format");
  note(given.strict, "--strict");
  note(given.explain, "--explain");
  for (const std::string& name : given.csv_only) note(true, name);
  if (idle.empty()) return;
  series.caveats.push_back("Without effect, for no row is a capture: " + idle +
                           ".");
}

// What the results were measured by, which stored ones say themselves.
void note_timebase(Record& record) {
  for (const DriftResult& result : record.drifts) {
    if (result.points.empty() || !result.shared.is_one) continue;
    record.timebase = result.shared.timebase;
    return;
  }
}

DriftQuestion question_of(const CommandLine& line, const Record& record) {
  DriftQuestion question;
  question.expect = line.drift.expect;
  question.tolerance = line.drift.tolerance;
  if (line.drift.range) {
    question.range = Span{line.drift.range->low_c.to_double(),
                          line.drift.range->high_c.to_double()};
  }
  if (record.instrument) {
    question.stability = record.instrument->timebase_stability;
  }
  if (line.drift.thermometer_k) {
    question.thermometer_k = line.drift.thermometer_k->to_double();
  }
  if (line.drift.ageing_limit) {
    const ToleranceBand& band = *line.drift.ageing_limit;
    question.ageing_limit = Ppm(std::max(std::abs(band.low_ppm.to_double()),
                                         std::abs(band.high_ppm.to_double())));
  }
  question.coverage = line.reading.coverage;
  return question;
}

void assay(const MeasuredSeries& series, const DriftQuestion& question,
           Record& record) {
  std::vector<Error> errors;
  record.drifts = assay_series(series, question, errors);
  for (Error& error : errors) add_error(record, std::move(error));
  note_timebase(record);
  for (const DriftResult& result : record.drifts) {
    if (auto verdict = judge_drift(result)) {
      record.verdicts.push_back(*std::move(verdict));
    }
  }
}

ExitCode deliver_all(Record& record, const CommandLine& line) {
  if (line.drift.junit) {
    const auto done = write_output(*line.drift.junit, junit_report(record));
    if (!done) add_error(record, done.error());
  }
  return deliver(record, line.reading, false);
}

}  // namespace

ExitCode run_drift(const CommandLine& given, const std::string& version) {
  CommandLine line = given;
  Record record;
  record.tool_version = version;
  record.command = "drift";
  record.coverage = line.reading.coverage;
  std::vector<std::string> inputs = line.reading.captures;
  for (const auto& path :
       {line.reading.instrument, line.drift.temperature_log}) {
    if (path) inputs.push_back(*path);
  }
  auto checked = check_outputs(inputs, outputs_of(line));
  if (checked) checked = check_pictures(line.reading.plots, record.command);
  if (!checked) {
    return refuse_outputs(record, checked.error(), line.reading.json);
  }
  auto instrument = load_instrument(line.reading);
  if (!instrument) {
    add_error(record, instrument.error());
    return deliver_all(record, line);
  }
  record.instrument = *instrument;
  record.timebase = line.reading.timebase.value_or(Timebase{});
  if (line.reading.reference) record.timebase.kind = TimebaseKind::kReference;
  bool may_write = true;
  auto series = measure(line, record, may_write);
  if (series) {
    tell_idle_options(line.reading, record, *series);
    assay(*series, question_of(line, record), record);
  } else {
    add_error(record, series.error());
    if (!may_write) return exit_code(series.error().code);
  }
  return deliver_all(record, line);
}

}  // namespace clockassay
