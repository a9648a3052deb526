// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/command_line.h"

#include <algorithm>
#include <iterator>
#include <limits>

#include "app/batch_list.h"
#include "app/csv_option_reader.h"
#include "app/help_text.h"
#include "app/kelvin_text.h"
#include "app/option_values.h"
#include "app/taken_at.h"
#include "clockassay/base/nearest_name.h"
#include "clockassay/base/quantity_text.h"

namespace clockassay {
namespace {

// Chosen: more threads than any machine this runs on has.
constexpr std::int64_t kMostJobs = 1024;
constexpr std::int64_t kMostUnpack = 1000000000;

// An option read by a parser that knows nothing of options.
template <class T>
void read_by(OptionReader& reader, std::string_view name,
             Result<T> (*parse)(std::string_view), std::optional<T>& value) {
  const auto text = reader.given().one(name);
  if (!text) return;
  auto read = parse(*text);
  if (read) {
    value = *std::move(read);
  } else {
    reader.refuse(name, read.error().message, read.error().hint);
  }
}

// Beyond what any instrument does the exact arithmetic would end, too.
void check_sample_rate(OptionReader& reader,
                       const std::optional<Rational>& rate_hz) {
  const Rational slowest = *Rational::make(1, 1000);
  const Rational fastest(1'000'000'000'000'000);
  if (!rate_hz || (*rate_hz >= slowest && *rate_hz <= fastest)) return;
  reader.refuse("--sample-rate",
                "found " + *reader.given().one("--sample-rate") +
                    ", expected between 0.001 Hz and 1000000 GHz");
}

void read_stability(OptionReader& reader,
                    std::optional<StabilityOptions>& stability) {
  if (reader.given().has("--stability")) {
    stability.emplace();
    for (const Rational& tau : reader.times("--tau")) {
      stability->taus.push_back(Seconds(tau.to_double()));
    }
  } else if (reader.given().has("--tau")) {
    reader.refuse("--tau", "found no --stability beside it",
                  "--stability adds the table whose rows it chooses");
  }
}

ColorWhen color_when(const std::optional<std::string>& word) {
  if (word == "always") return ColorWhen::kAlways;
  if (word == "never") return ColorWhen::kNever;
  return ColorWhen::kAuto;
}

std::vector<Tag> read_tags(OptionReader& reader) {
  std::vector<Tag> tags;
  for (const std::string& text : reader.given().all("--tag")) {
    auto tag = parse_tag(text);
    if (!tag) {
      reader.refuse("--tag", tag.error().message, tag.error().hint);
    } else if (const auto time = parse_utc(tag->value);
               tag->key == "taken_at" && !time) {
      reader.refuse("--tag taken_at", time.error().message, time.error().hint);
    } else {
      set_tag(*std::move(tag), tags);
    }
  }
  return tags;
}

// All but where results go, how they look and how fast they come.
std::vector<std::string> as_given(const OptionValues& given) {
  constexpr std::string_view kNoMatter[] = {
      "--spec",       "--instrument",      "--json",
      "--json-lines", "--junit",           "--store",
      "--quiet",      "--no-progress",     "--color",
      "--jobs",       "--unpack-limit",    "--list",
      "--watch",      "--allow-undecided", "--report",
      "--plots"};
  std::vector<std::string> options;
  for (const auto& [name, values] : given.values) {
    if (std::find(std::begin(kNoMatter), std::end(kNoMatter), name) !=
        std::end(kNoMatter)) {
      continue;
    }
    options.push_back(name);
    options.insert(options.end(), values.begin(), values.end());
  }
  return options;
}

// A page beside a text on one stream would be neither.
std::optional<std::string> read_report(OptionReader& reader) {
  const auto path = reader.given().one("--report");
  if (path == "-") {
    reader.refuse("--report", "found -, expected the name of a file");
  }
  return path;
}

ReadingArguments read_reading(OptionReader& reader) {
  const OptionValues& given = reader.given();
  ReadingArguments a;
  a.captures = given.others;
  a.channels = given.all("--channel");
  a.tags = read_tags(reader);
  a.as_given = as_given(given);
  a.store = given.one("--store");
  read_by(reader, "--timebase", parse_timebase, a.timebase);
  a.timebase_stated = given.has("--timebase");
  read_by(reader, "--reference", parse_reference, a.reference);
  a.instrument = given.one("--instrument");
  a.sample_rate_hz = reader.sample_rate("--sample-rate");
  check_sample_rate(reader, a.sample_rate_hz);
  a.from_s = reader.time("--from");
  a.span_s = reader.time("--span");
  if (a.span_s && a.span_s->sign() == 0) {
    reader.refuse("--span", "found 0, expected a length");
  }
  read_coverage(reader, a.coverage);
  a.format = reader.word("--format").value_or("");
  read_csv_options(reader, a);
  read_stability(reader, a.stability);
  a.strict = given.has("--strict");
  a.explain = given.has("--explain");
  a.spectrum = given.has("--spectrum");
  a.json = given.one("--json");
  a.report = read_report(reader);
  a.plots = given.one("--plots");
  a.quiet = given.has("--quiet");
  a.progress = !given.has("--no-progress");
  a.color = color_when(reader.word("--color"));
  if (const auto jobs = reader.whole("--jobs", 1, kMostJobs)) {
    a.jobs = static_cast<std::size_t>(*jobs);
  }
  a.unpack_limit = reader.whole("--unpack-limit", 0, kMostUnpack);
  return a;
}

// Its results are what tells what is done, and there is no end at which a
// report could be written.
void check_watch(OptionReader& reader, const VerifyArguments& a) {
  if (!a.watch) return;
  const OptionValues& given = reader.given();
  if (!a.json_lines || a.json_lines == "-") {
    reader.refuse("--watch", "found no --json-lines FILE beside it",
                  "name the file that keeps what was judged, so that nothing "
                  "is judged twice or lost");
  }
  if (!given.others.empty()) {
    reader.refuse("--watch", "found \"" + given.others.front() +
                                 "\", expected no capture beside a folder");
  }
  for (const char* name :
       {"--list", "--json", "--junit", "--explain", "--report", "--plots"}) {
    if (given.has(name)) reader.refuse(name, "does not go with --watch");
  }
}

VerifyArguments read_verify(OptionReader& reader) {
  const OptionValues& given = reader.given();
  VerifyArguments a;
  a.spec = given.one("--spec");
  a.expect = given.one("--expect").value_or("");
  a.tolerance = given.one("--tolerance").value_or("");
  a.requirements = given.all("--requirement");
  a.allow_undecided = given.has("--allow-undecided");
  a.list = given.one("--list").value_or("");
  a.junit = given.one("--junit");
  a.json_lines = given.one("--json-lines");
  a.watch = given.one("--watch");
  check_watch(reader, a);
  if (a.spec) {
    for (const char* name : {"--expect", "--tolerance", "--requirement"}) {
      if (given.has(name)) {
        reader.refuse(name, "does not go with --spec",
                      "write it into the specification");
      }
    }
  } else if (!given.has("--expect")) {
    reader.refuse("verify", "found neither --spec nor --expect",
                  "say what to judge by: --spec FILE, or --expect 12MHz "
                  "--tolerance 30ppm");
  } else if (!given.has("--tolerance")) {
    reader.refuse("--expect", "found no --tolerance beside it",
                  "say how far off is allowed: --tolerance 30ppm");
  }
  return a;
}

// Symmetric, as a timebase that moves is.
void read_moves(OptionReader& reader, CompareArguments& a) {
  const auto text = reader.given().one("--same-timebase");
  if (!text) return;
  a.same_timebase = true;
  if (text->empty()) return;
  const auto band = parse_tolerance(*text);
  if (!band) {
    reader.refuse("--same-timebase", band.error().message, band.error().hint);
  } else if (band->low_ppm.to_double() != -band->high_ppm.to_double()) {
    reader.refuse("--same-timebase",
                  "found limits of two sizes, expected one, such as 0.2ppm");
  } else {
    a.moves = Ppm(band->high_ppm.to_double());
  }
}

CompareArguments read_compare(OptionReader& reader) {
  const OptionValues& given = reader.given();
  CompareArguments a;
  read_moves(reader, a);
  read_by(reader, "--limit", parse_tolerance, a.limit);
  a.junit = given.one("--junit");
  if (given.others.size() != 2) {
    reader.refuse("BEFORE AFTER",
                  "found " + std::to_string(given.others.size()) +
                      ", expected two captures or stored results",
                  "name first the one that was taken before");
  }
  return a;
}

TrendArguments read_trend(OptionReader& reader, ReadingArguments& reading) {
  const OptionValues& given = reader.given();
  TrendArguments a;
  a.store = given.one("--store").value_or("");
  if (a.store.empty()) {
    reader.refuse("--store", "is needed",
                  "name the store that --store of measure and verify wrote");
  }
  if (!given.others.empty()) {
    reader.refuse("trend", "found \"" + given.others.front() +
                               "\", expected only options");
  }
  a.options.clock = given.one("--clock");
  a.options.only = read_tags(reader);
  a.by_stated = given.has("--by");
  if (a.by_stated) a.options.by = given.all("--by");
  if (const auto alarms = reader.fraction("--alarms")) {
    a.options.shifts.alarms = alarms->to_double();
    if (a.options.shifts.alarms < 0.001 || a.options.shifts.alarms > 0.5) {
      reader.refuse("--alarms", "found " + *given.one("--alarms") +
                                    ", expected 0.001 to 0.5");
    }
  }
  reading.json = given.one("--json");
  reading.report = read_report(reader);
  reading.plots = given.one("--plots");
  reading.quiet = given.has("--quiet");
  reading.color = color_when(reader.word("--color"));
  return a;
}

DriftArguments read_drift(OptionReader& reader) {
  const OptionValues& given = reader.given();
  DriftArguments a;
  read_by(reader, "--expect", parse_clock_path, a.expect);
  read_by(reader, "--tolerance", parse_tolerance, a.tolerance);
  read_by(reader, "--range", parse_temperature_range, a.range);
  read_by(reader, "--thermometer", parse_kelvin_tolerance, a.thermometer_k);
  read_by(reader, "--ageing-limit", parse_tolerance_or_zero, a.ageing_limit);
  a.temperature_log = given.one("--temperature-log");
  a.junit = given.one("--junit");
  if (given.others.size() > 1) {
    reader.refuse(
        "SERIES",
        "found " + std::to_string(given.others.size()) + ", expected one",
        "one file names all captures: a row for each, with its "
        "temperature");
  }
  if (a.tolerance && !a.range) {
    reader.refuse(
        "--tolerance", "found no --range beside it",
        "say over which temperatures it has to hold: --range -20..70");
  }
  return a;
}

// By the option, else by the suffix of the output.
bool read_wants_vcd(OptionReader& reader, const std::string& out) {
  const auto format = reader.word("--format");
  if (format) return *format == "vcd";
  if (out.ends_with(".vcd")) return true;
  if (!out.ends_with(".csv") && !out.empty()) {
    reader.refuse("--out", "the suffix says neither .csv nor .vcd",
                  "say which with --format csv or --format vcd");
  }
  return false;
}

SimulateArguments read_simulate(OptionReader& reader) {
  const OptionValues& given = reader.given();
  SimulateArguments a;
  for (const char* name : {"--frequency", "--sample-rate", "--out"}) {
    if (!given.has(name)) reader.refuse(name, "is needed");
  }
  if (given.has("--cycles") == given.has("--duration")) {
    reader.refuse("--cycles", "needed, or --duration, one of the two");
  }
  if (!given.others.empty()) {
    reader.refuse("simulate", "found \"" + given.others.front() +
                                  "\", expected only options");
  }
  SimulatedClockOptions& clock = a.clock;
  clock.frequency_hz =
      reader.frequency("--frequency").value_or(clock.frequency_hz);
  clock.offset_ppm = reader.ppm("--ppm").value_or(clock.offset_ppm);
  clock.sample_rate_hz =
      reader.sample_rate("--sample-rate").value_or(clock.sample_rate_hz);
  constexpr std::int64_t kMost = std::numeric_limits<std::int64_t>::max();
  clock.cycles = reader.whole("--cycles", 1, kMost);
  clock.duration_s = reader.time("--duration");
  clock.jitter_rms_s =
      reader.time("--jitter").value_or(Rational(0)).to_double();
  clock.duty = reader.fraction("--duty").value_or(clock.duty);
  clock.drop_probability =
      reader.fraction("--drop").value_or(Rational(0)).to_double();
  clock.glitch_probability =
      reader.fraction("--glitch").value_or(Rational(0)).to_double();
  const auto seed = reader.whole("--seed", 0, kMost);
  if (seed) clock.seed = static_cast<std::uint64_t>(*seed);
  a.channel = given.one("--channel").value_or(a.channel);
  a.out = given.one("--out").value_or("");
  a.vcd = read_wants_vcd(reader, a.out);
  a.truth = given.one("--truth");
  return a;
}

void check_captures(OptionReader& reader, const CommandLine& line) {
  const ReadingArguments& reading = line.reading;
  if (reading.captures.empty() && line.verify.list.empty() &&
      !line.verify.watch) {
    reader.refuse(line.command == Command::kDrift ? "SERIES" : "CAPTURE",
                  "found none, expected a file, or - for standard "
                  "input");
  }
  const auto stdins =
      std::count(reading.captures.begin(), reading.captures.end(), "-") +
      (line.verify.spec == "-" ? 1 : 0) + (line.verify.list == "-" ? 1 : 0) +
      (line.drift.temperature_log == "-" ? 1 : 0) +
      (reading.instrument == "-" ? 1 : 0);
  if (stdins > 1) {
    reader.refuse("-", "given twice, but standard input can be read only once");
  }
}

// How many arguments name the command: "plan load" is two words.
std::size_t words_of_command(const std::vector<std::string>& args) {
  return args[0] == "plan" && args.size() > 1 ? 2 : 1;
}

std::string command_name(const std::vector<std::string>& args) {
  return words_of_command(args) == 2 ? args[0] + ' ' + args[1] : args[0];
}

Result<const CommandInfo*> find_command(const std::string& name) {
  std::vector<std::string_view> known;
  for (const CommandInfo& c : commands()) {
    if (c.name == name) return &c;
    known.push_back(c.name);
  }
  if (name == "plan") {
    return failure(ErrorCode::kUsage, "plan: found nothing to plan",
                   "expected load, drive, path or capture");
  }
  const std::string_view near = nearest_name(name, known);
  const std::string kind = name.starts_with('-') ? "option" : "command";
  return failure(ErrorCode::kUsage, "unknown " + kind + " \"" + name + '"',
                 near.empty() ? "clockassay --help lists the commands"
                              : "did you mean " + std::string(near) + "?");
}

}  // namespace

Result<CommandLine> parse_command_line(const std::vector<std::string>& args,
                                       const std::string& version) {
  CommandLine line;
  if (args.empty()) {
    return failure(ErrorCode::kUsage, "found no command",
                   "clockassay --help lists the commands");
  }
  if (args[0] == "--help" || args[0] == "-h") {
    line.answer = general_help();
    return line;
  }
  if (args[0] == "--version") {
    line.answer = "clockassay " + version + '\n';
    return line;
  }
  const std::string name = command_name(args);
  if (name == "plan --help" || name == "plan -h") {
    line.answer = plan_help();
    return line;
  }
  const auto command = find_command(name);
  if (!command) return tl::unexpected(command.error());
  line.command = (*command)->command;
  const std::vector<std::string> rest(
      args.begin() + static_cast<std::ptrdiff_t>(words_of_command(args)),
      args.end());
  if (std::any_of(rest.begin(), end_of_options(rest), [](const auto& arg) {
        return arg == "--help" || arg == "-h";
      })) {
    line.answer = command_help(line.command);
    return line;
  }
  const auto given = split_options(line.command, rest);
  if (!given) return tl::unexpected(given.error());
  OptionReader reader(line.command, *given);
  if (line.command == Command::kSimulate) {
    line.simulate = read_simulate(reader);
  } else if (line.command == Command::kTrend) {
    line.trend = read_trend(reader, line.reading);
  } else if (line.command == Command::kRequirements) {
    line.requirements = {given->others, given->one("--json")};
  } else if (is_plan(line.command)) {
    line.plan = read_plan(reader, line.command);
  } else {
    line.reading = read_reading(reader);
    const bool shows_captures =
        line.command == Command::kMeasure || line.command == Command::kVerify;
    line.reading.pictures =
        shows_captures && (line.reading.report || line.reading.plots);
    if (line.command == Command::kVerify) line.verify = read_verify(reader);
    if (line.command == Command::kDrift) line.drift = read_drift(reader);
    if (line.command == Command::kCompare) {
      line.compare = read_compare(reader);
    }
    check_captures(reader, line);
  }
  if (reader.error()) return tl::unexpected(*reader.error());
  return line;
}

bool asks_for_json_output(const std::vector<std::string>& args) {
  const auto end = end_of_options(args);
  for (auto arg = args.begin(); arg != end; ++arg) {
    if (*arg == "--json=-") return true;
    if (*arg == "--json" && arg + 1 != end && *(arg + 1) == "-") return true;
  }
  return false;
}

}  // namespace clockassay
