// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/reading_commands.h"

#include "app/capture_reading.h"
#include "app/delivery.h"
#include "app/instrument_file.h"
#include "app/judging.h"
#include "clockassay/analysis/analyse.h"

namespace clockassay {
namespace {

Record new_record(const CommandLine& line, const std::string& version) {
  Record record;
  record.tool_version = version;
  record.command = line.command == Command::kVerify ? "verify" : "measure";
  record.coverage = line.reading.coverage;
  return record;
}

Result<void> check_paths(const CommandLine& line) {
  std::vector<std::string> inputs = line.reading.captures;
  if (line.verify.spec) inputs.push_back(*line.verify.spec);
  if (line.reading.instrument) inputs.push_back(*line.reading.instrument);
  std::vector<std::string> outputs;
  if (line.reading.json) outputs.push_back(*line.reading.json);
  return check_outputs(inputs, outputs);
}

// Errors end the capture they are about, not the run.
void judge(Record& record, const Specification& specification,
           CaptureResult capture, const Timebase& stated) {
  auto verdicts =
      judge_capture(specification, capture,
                    capture.reference ? capture.reference->timebase : stated);
  for (SourceGroup& group : compare_outputs(specification, capture)) {
    record.sources.push_back(std::move(group));
  }
  record.captures.push_back(std::move(capture));
  if (!verdicts) {
    Error error = verdicts.error();
    if (error.path.empty()) error.path = record.captures.back().path;
    add_error(record, std::move(error));
    return;
  }
  record.verdicts.insert(record.verdicts.end(), verdicts->begin(),
                         verdicts->end());
}

}  // namespace

ExitCode run_reading(const CommandLine& line, const std::string& version) {
  ReadingArguments reading = line.reading;
  Record record = new_record(line, version);
  if (const auto checked = check_paths(line); !checked) {
    add_error(record, checked.error());
    // Nothing is written to a path that is also an input.
    return exit_code(checked.error().code);
  }
  auto instrument = load_instrument(reading);
  if (!instrument) {
    add_error(record, instrument.error());
    return deliver(record, reading, line.verify.allow_undecided);
  }
  record.instrument = *instrument;
  record.timebase = reading.timebase.value_or(Timebase{});
  if (reading.reference) record.timebase.kind = TimebaseKind::kReference;
  std::optional<Specification> specification;
  ChannelChoice channels{reading.channels, false};
  if (line.command == Command::kVerify) {
    auto loaded = load_specification(line.verify, reading.channels);
    if (!loaded) {
      add_error(record, loaded.error());
      return deliver(record, reading, line.verify.allow_undecided);
    }
    specification = std::move(*loaded);
    record.title = specification->title;
    // That an expected clock is missing is a verdict, not an error.
    channels = {channels_of(*specification), true, settling_of(*specification),
                expected_of(*specification)};
  }
  ThreadPool pool(reading.jobs.value_or(machine_jobs()));
  for (const std::string& path : reading.captures) {
    Understanding understood;
    auto capture = read_and_analyse(path, reading, channels, pool, understood);
    if (!capture) {
      add_error(record, capture.error());
      if (reading.explain && !understood.facts.empty()) {
        record.refused.push_back({path, std::move(understood)});
      }
    } else if (specification) {
      judge(record, *specification, std::move(*capture), record.timebase);
    } else {
      record.captures.push_back(std::move(*capture));
    }
  }
  return deliver(record, reading, line.verify.allow_undecided);
}

}  // namespace clockassay
