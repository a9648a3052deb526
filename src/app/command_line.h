// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "app/option_table.h"
#include "app/plan_options.h"
#include "clockassay/analysis/instrument.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/quantity_text.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/read_options.h"
#include "clockassay/capture/simulated_clock.h"
#include "clockassay/estimate/stability.h"
#include "clockassay/history/trend.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/uncertainty/reference.h"
#include "clockassay/uncertainty/timebase.h"

namespace clockassay {

enum class ColorWhen { kAuto, kAlways, kNever };

/// How captures are read, analysed and reported (`measure`, `verify`,
/// `drift`).
struct ReadingArguments {
  std::vector<std::string> captures;  ///< paths, "-" for standard input
  std::vector<std::string> channels;
  std::vector<Tag> tags;
  /// Every option that bears on what a capture is found to be, as written.
  std::vector<std::string> as_given;
  std::optional<std::string> store;       ///< path or URL
  std::optional<std::string> instrument;  ///< path
  std::optional<Timebase> timebase;
  bool timebase_stated = false;  ///< by the command line, not by a file
  std::optional<ReferenceClock> reference;
  std::optional<Seconds> input_jitter_rms;  ///< from the instrument file
  std::optional<Seconds> edge_skew;         ///< the same
  std::optional<Rational> sample_rate_hz;
  std::optional<Rational> from_s;
  std::optional<Rational> span_s;
  double coverage = 0.95;
  std::string format;  ///< empty: by content
  CsvOptions csv;
  std::optional<AnalogueOptions> analogue;
  std::vector<std::string> csv_only;  ///< options given that only CSV knows
  std::optional<StabilityOptions> stability;
  bool strict = false;
  bool explain = false;
  bool spectrum = false;              ///< of the time-interval error
  std::optional<std::string> json;    ///< path, "-" for standard output
  std::optional<std::string> report;  ///< path of a page
  std::optional<std::string> plots;   ///< a folder for pictures
  bool pictures = false;  ///< what charts show of captures is worked out
  bool quiet = false;
  bool progress = true;  ///< on a terminal
  ColorWhen color = ColorWhen::kAuto;
  std::optional<std::size_t> jobs;
  std::optional<std::int64_t> unpack_limit;  ///< text to packed; 0: any
};

/// What `verify` judges by: spec alone, or expect with tolerance.
struct VerifyArguments {
  std::optional<std::string> spec;
  std::string expect;
  std::string tolerance;
  std::vector<std::string> requirements;
  bool allow_undecided = false;
  std::string list;                       ///< path; empty: none
  std::optional<std::string> junit;       ///< path
  std::optional<std::string> json_lines;  ///< path, "-" for standard output
  std::optional<std::string> watch;       ///< a folder
};

/// What `compare` takes beside how captures are read; BEFORE and AFTER are the
/// two captures there.
struct CompareArguments {
  bool same_timebase = false;
  std::optional<Ppm> moves;  ///< stated with it
  std::optional<ToleranceBand> limit;
  std::optional<std::string> junit;  ///< path
};

/// What `drift` takes beside how captures are read; its SERIES is the one
/// capture there.
struct DriftArguments {
  std::optional<ClockPath> expect;
  std::optional<ToleranceBand> tolerance;
  std::optional<TemperatureRange> range;
  std::optional<Rational> thermometer_k;       ///< half-width
  std::optional<ToleranceBand> ageing_limit;   ///< over the series
  std::optional<std::string> temperature_log;  ///< path
  std::optional<std::string> junit;            ///< path
};

struct SimulateArguments {
  SimulatedClockOptions clock;
  std::string channel = "clk";
  bool vcd = false;  ///< else CSV
  std::string out;
  std::optional<std::string> truth;
};

/// What `trend` reads, and what of it.
struct TrendArguments {
  std::string store;  ///< path or URL
  TrendOptions options;
  bool by_stated = false;
};

/// What `requirements` lists.
struct RequirementsArguments {
  std::vector<std::string> ids;     ///< none: all
  std::optional<std::string> json;  ///< path, "-" for standard output
};

/// A command line, understood.
struct CommandLine {
  Command command = Command::kMeasure;
  ReadingArguments reading;
  VerifyArguments verify;
  CompareArguments compare;
  DriftArguments drift;
  TrendArguments trend;
  RequirementsArguments requirements;
  SimulateArguments simulate;
  std::optional<PlanArguments> plan;
  std::optional<std::string> answer;  ///< help or version: print it, be done
};

/// Reads the arguments after the program's name.
/// Errors: kUsage with the option, what was found and what is allowed; unknown
///         names come with the nearest known one.
Result<CommandLine> parse_command_line(const std::vector<std::string>& args,
                                       const std::string& version);

/// Whether the arguments, which may be wrong otherwise, ask for JSON on
/// standard output: then errors go there, too.
bool asks_for_json_output(const std::vector<std::string>& args);

}  // namespace clockassay
