// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/option_table.h"

#include "app/csv_words.h"

namespace clockassay {
namespace {

constexpr unsigned bit(Command c) {
  return 1U << static_cast<unsigned>(c);
}

constexpr unsigned kMeasure = bit(Command::kMeasure);
constexpr unsigned kVerify = bit(Command::kVerify);
constexpr unsigned kCompare = bit(Command::kCompare);
constexpr unsigned kDrift = bit(Command::kDrift);
constexpr unsigned kTrend = bit(Command::kTrend);
constexpr unsigned kRequirements = bit(Command::kRequirements);
constexpr unsigned kSimulate = bit(Command::kSimulate);
constexpr unsigned kPlanLoad = bit(Command::kPlanLoad);
constexpr unsigned kPlanDrive = bit(Command::kPlanDrive);
constexpr unsigned kPlanPath = bit(Command::kPlanPath);
constexpr unsigned kPlanCapture = bit(Command::kPlanCapture);
constexpr unsigned kPlan = kPlanLoad | kPlanDrive | kPlanPath | kPlanCapture;
constexpr unsigned kJudging = kMeasure | kVerify;
constexpr unsigned kReading = kJudging | kCompare | kDrift;

constexpr CommandInfo kCommands[] = {
    {Command::kMeasure, "measure", "CAPTURE...",
     "what is on each channel: frequency with uncertainty, period, duty, "
     "jitter"},
    {Command::kVerify, "verify", "CAPTURE...",
     "does a clock conform to its specification; if not, why, and what to do"},
    {Command::kCompare, "compare", "BEFORE AFTER",
     "did a change of firmware or parts move a clock: shift, jitter, duty"},
    {Command::kDrift, "drift", "SERIES",
     "a clock against temperature: curve, turnover, verdict over a range"},
    {Command::kTrend, "trend", "",
     "a clock's history over builds and boards: steps found, control limits"},
    {Command::kRequirements, "requirements", "[ID...]",
     "what interfaces ask of a clock, with standard and clause"},
    {Command::kSimulate, "simulate", "",
     "write a capture of a clock whose truth is known"},
    {Command::kPlanLoad, "plan load", "",
     "which load capacitors a crystal wants on this board, and what they do"},
    {Command::kPlanDrive, "plan drive", "",
     "gain, start and drive of a crystal in its oscillator, series resistor"},
    {Command::kPlanPath, "plan path", "",
     "what a clock path gives, and what each slip in it would show"},
    {Command::kPlanCapture, "plan capture", "",
     "can a capture decide the question, how long, how fast, and what helps"},
};

// What some values are one of.
constexpr std::string_view kFormats[] = {"csv", "vcd"};
constexpr std::string_view kColors[] = {"auto", "always", "never"};
constexpr std::string_view kESeries[] = {"E12", "E24"};
constexpr auto kSeparators = words_of(kSeparatorWords);
constexpr auto kDecimalMarks = words_of(kDecimalMarkWords);
constexpr auto kTimeUnits = words_of(kTimeUnitWords);
constexpr auto kRows = words_of(kRowsWords);
constexpr auto kEdges = words_of(kEdgesWords);
constexpr auto kRadices = words_of(kRadixWords);

constexpr OptionInfo kOptions[] = {
    {"--spec", "FILE", false, kVerify,
     "the specification: clocks, tolerances, suspects (JSON)"},
    {"--expect", "EXPR", false, kVerify,
     "expected frequency, exact: 12MHz, or the clock path 24MHz / 2"},
    {"--tolerance", "TOL", false, kVerify,
     "allowed deviation with its unit: 30ppm, 50ppb, 0.25%, -5300ppm..300ppm"},
    {"--requirement", "ID", true, kVerify,
     "an interface that hangs on the clock, such as usb-fs-device; repeatable"},
    {"--allow-undecided", "", false, kVerify,
     "return 0 for undecided instead of 2"},
    {"--list", "FILE", false, kVerify,
     "more captures: a path a line, or JSON, [{\"capture\": PATH, \"tags\": "
     "{KEY: VALUE}}]; paths relative to the file. A path with *, ? or [ "
     "stands for those that match"},
    {"--tag", "KEY=VALUE", true, kJudging,
     "kept with the result: board, build, temperature ...; repeatable"},
    {"--store", "URL", false, kJudging,
     "append the result to a store of results: an SQLite file, or "
     "postgresql://..."},
    {"--junit", "FILE", false, kVerify,
     "write the verdicts as JUnit XML, for CI systems"},
    {"--watch", "DIR", false, kVerify,
     "judge captures as they turn up in a folder and are written to their end, "
     "until told to stop; --json-lines FILE keeps what is done, and a start "
     "after a stop or a crash goes on there"},
    {"--json-lines", "FILE", false, kVerify,
     "write a line of JSON for each capture as it is judged; - writes them, "
     "alone, to standard output"},

    {"--same-timebase", "[=TOL]", false, kCompare,
     "one instrument took both: its rate moved by at most TOL between them, "
     "such as --same-timebase=0.2ppm. Default of TOL: the instrument file's "
     "timebase_stability, else 1 ppm"},
    {"--limit", "TOL", false, kCompare,
     "how far a clock may move, such as 3ppm: then each shift is judged, and a "
     "clock that is gone fails"},
    {"--junit", "FILE", false, kCompare,
     "write what became of each clock as JUnit XML, for CI systems"},

    {"--expect", "EXPR", false, kDrift,
     "expected frequency, exact: 32.768kHz, or the clock path 24MHz / 2. "
     "Default: errors are relative to the curve at 25 degC"},
    {"--tolerance", "TOL", false, kDrift,
     "allowed deviation over the range: 100ppm, 0.25%, -150ppm..20ppm"},
    {"--range", "LOW..HIGH", false, kDrift,
     "the temperatures that count, in degC: -40..85"},
    {"--thermometer", "TOL", false, kDrift,
     "what the thermometer may read wrong alike at all temperatures: 0.5K, "
     "0K for one that is known to be right. Default: not in the uncertainty, "
     "and said"},
    {"--ageing-limit", "TOL", false, kDrift,
     "the most that the clock ages from the first reading to the last: 1ppm, "
     "0ppm for none; a data sheet's figure of the first year holds for any "
     "shorter time. It goes into U. Default: where time_s is stated ageing is "
     "looked for, else there is none in U"},
    {"--temperature-log", "FILE", false, kDrift,
     "SERIES is one long capture: its temperatures, CSV with time_s (from the "
     "first stamp), temperature_c and perhaps u_temperature_c"},
    {"--channel", "NAME", false, kDrift,
     "the channel that carries the clock. Default: the only one that does"},
    {"--junit", "FILE", false, kDrift,
     "write the verdicts as JUnit XML, for CI systems"},

    {"--channel", "NAME", true, kJudging | kCompare,
     "only this channel; repeatable. Default: every channel that carries a "
     "clock"},
    {"--timebase", "TOL", false, kReading,
     "the capturing instrument's own clock: a tolerance, 25ppm, or a "
     "calibrated offset, -12.3ppm+-2ppm. Default: 100 ppm is assumed, and "
     "said"},
    {"--reference", "CHANNEL=FREQ", false, kReading,
     "a known clock recorded beside the others, such as ref=10MHz+-0.1ppm or "
     "pps=1Hz+-10ppb: they are measured against it"},
    {"--instrument", "FILE", false, kReading,
     "the same and more of the instrument, as JSON: timebase, "
     "timebase_stability, input_jitter_rms, edge_skew, reference. What the "
     "command line says goes before"},
    {"--sample-rate", "FREQ", false, kReading,
     "the sampling rate, such as 24MHz or 24MS/s, when the file does not show "
     "it"},
    {"--from", "TIME", false, kReading,
     "start of the stretch to analyse, such as 5ms after the first stamp"},
    {"--span", "TIME", false, kReading, "length of the stretch to analyse"},
    {"--coverage", "P", false, kReading,
     "coverage probability of expanded uncertainties. Default: 0.95"},
    {"--format", "NAME", false, kReading,
     "csv or vcd. Default: recognised by content", kFormats},
    {"--strict", "", false, kReading,
     "refuse what would be read with a warning about the file's grammar or "
     "dialect"},
    {"--separator", "WORD", false, kReading,
     "CSV: what stands between the columns: comma, semicolon, tab, bar or "
     "blank",
     kSeparators},
    {"--decimal-mark", "WORD", false, kReading,
     "CSV: the decimal mark: point or comma", kDecimalMarks},
    {"--time-column", "COLUMN", false, kReading,
     "CSV: the time column, by its name or its number from 1 on; none: the "
     "rows are samples of the stated rate"},
    {"--time-unit", "UNIT", false, kReading,
     "CSV: what times without a unit count: s, ms, us, ns, ps, fs, or sample",
     kTimeUnits},
    {"--time-steps", "", false, kReading,
     "CSV: times count from the row before"},
    {"--rows", "WORD", false, kReading,
     "CSV: what a row stands for: changes (of any channel), samples (at a "
     "constant step) or events (of the channel it names)",
     kRows},
    {"--edges", "WORD", false, kReading,
     "CSV of one column: its times are rising edges (rising), or rises and "
     "falls in turn (both-rise-first, both-fall-first)",
     kEdges},
    {"--levels", "LOW,HIGH", false, kReading,
     "CSV: how the levels are written, such as -1,1"},
    {"--radix", "N", false, kReading,
     "CSV: the radix of packed words: 2, 10 or 16", kRadices},
    {"--tick", "TIME", false, kReading,
     "CSV: the finest step of time to be held, such as 1ps"},
    {"--threshold", "VOLTS", false, kReading,
     "CSV: read analogue columns: 1.65 or 1.65V, with hysteresis 1.65V,200mV; "
     "auto: midway. Bare numbers are in the unit of the column"},
    {"--stability", "", false, kMeasure,
     "add a table of frequency stability: Allan, modified Allan, Hadamard and "
     "time deviation and MTIE against averaging time tau; half-period jitter "
     "and a histogram of the periods with it"},
    {"--tau", "TIME[,TIME...]", false, kMeasure,
     "the rows of that table, such as 1us,10ms, rounded to whole cycles. "
     "Default: 1, 2, 4 ... cycles"},
    {"--spectrum", "", false, kMeasure,
     "add the spectrum of the time-interval error of the rising edges: floor, "
     "spurs, lines made by sampling, spread"},
    {"--explain", "", false, kReading,
     "say first how each capture was read, and why: dialect, columns, unit, "
     "resolution, sampling interval, the first rows"},
    {"--json", "FILE", false, kReading | kRequirements,
     "write the result as JSON; - writes it, alone, to standard output"},
    {"--report", "FILE", false, kReading | kTrend,
     "write a page (HTML) with charts that needs nothing but itself: the "
     "verdict, why, what to do, and what it stands on"},
    {"--plots", "DIR", false, kReading | kTrend,
     "write the same charts as pictures (SVG) into a folder, which is made if "
     "need be"},
    {"--quiet", "", false, kReading, "one line a verdict or channel"},
    {"--color", "WHEN", false, kReading,
     "auto, always or never. Default: auto, on a terminal unless NO_COLOR is "
     "set",
     kColors},
    {"--no-progress", "", false, kReading, "never show progress"},
    {"--jobs", "N", false, kReading,
     "threads; results do not depend on it. Default: the machine's"},
    {"--unpack-limit", "N", false, kReading,
     "the most that packed input beyond 1 GiB of text may grow, times; 0: any. "
     "Default: 500"},

    {"--store", "URL", false, kTrend,
     "the store of results: an SQLite file, or postgresql://.... Needed"},
    {"--clock", "NAME", false, kTrend,
     "only this clock, by its name in the specification or its channel"},
    {"--tag", "KEY=VALUE", true, kTrend,
     "only results with this tag; repeatable: with all of them"},
    {"--by", "KEY", true, kTrend,
     "what tells clocks of one name apart: tags of such keys; repeatable. "
     "Default: board"},
    {"--alarms", "P", false, kTrend,
     "share of histories without any step in which one may be found. Default: "
     "0.01"},
    {"--json", "FILE", false, kTrend,
     "write the result as JSON; - writes it, alone, to standard output"},
    {"--quiet", "", false, kTrend, "one line a history"},
    {"--color", "WHEN", false, kTrend,
     "auto, always or never. Default: auto, on a terminal unless NO_COLOR is "
     "set",
     kColors},

    {"--frequency", "FREQ", false, kSimulate,
     "nominal frequency, such as "
     "12MHz. Needed"},
    {"--ppm", "X", false, kSimulate,
     "offset from it: 60 or 60ppm is fast, -60 slow. Default: 0"},
    {"--sample-rate", "FREQ", false, kSimulate,
     "sampling rate of the instrument, such as 100MHz. Needed"},
    {"--cycles", "N", false, kSimulate, "length in cycles; or"},
    {"--duration", "TIME", false, kSimulate, "length in time, such as 10ms"},
    {"--jitter", "TIME", false, kSimulate,
     "rms jitter of every edge, such as 300ps. Default: 0"},
    {"--duty", "D", false, kSimulate,
     "high time over period, 0 to 1 or in percent. Default: 0.5"},
    {"--drop", "P", false, kSimulate,
     "probability that a pulse is lost. Default: 0"},
    {"--glitch", "P", false, kSimulate,
     "probability of an extra pulse in a cycle. Default: 0"},
    {"--seed", "N", false, kSimulate,
     "another one gives another capture. Default: 1"},
    {"--channel", "NAME", false, kSimulate,
     "name of the channel. Default: clk"},
    {"--format", "NAME", false, kSimulate,
     "csv or vcd. Default: by the suffix of --out", kFormats},
    {"--out", "FILE", false, kSimulate, "where the capture goes. Needed"},
    {"--truth", "FILE", false, kSimulate, "where the truth goes, as JSON"},

    {"--crystal-load", "C", false, kPlanLoad,
     "load capacitance the crystal is made for, such as 18pF. Needed"},
    {"--stray-across", "C[+-C]", false, kPlanLoad,
     "stray from pin to pin of the crystal, such as 3pF or 3pF+-1pF. Default: "
     "1 to 5 pF are assumed, and said"},
    {"--stray-per-pin", "C[+-C]", false, kPlanLoad,
     "the same, as what is from each pin to ground"},
    {"--fitted", "C,C", false, kPlanLoad,
     "capacitors that are there now, such as 22pF,22pF"},
    {"--e-series", "E12|E24", false, kPlanLoad,
     "values to choose from. Default: E24", kESeries},
    {"--capacitor-tolerance", "P", false, kPlanLoad,
     "of the capacitors, such as 2%. Default: 5%"},
    {"--frequency", "FREQ", false, kPlanLoad,
     "of the crystal: tells a tuning fork from an AT cut where C0 and C1 are "
     "not known"},
    {"--frequency", "FREQ", false, kPlanDrive,
     "of the crystal, such as 16MHz. Needed"},
    {"--esr", "R", false, kPlanDrive,
     "motional resistance R1; of a data sheet the largest ESR, such as 60ohm. "
     "Needed"},
    {"--load", "C", false, kPlanDrive,
     "load the crystal sees, stray included, such as 12pF. Needed"},
    {"--c0", "C", false, kPlanDrive,
     "shunt capacitance of the crystal, such as 3pF. Needed"},
    {"--c0", "C", false, kPlanLoad,
     "shunt capacitance of the crystal, such as 3pF. Default: a typical range"},
    {"--c1", "C", false, kPlanLoad | kPlanDrive,
     "motional capacitance, such as 8fF. Default: a typical range"},
    {"--legs", "C,C", false, kPlanDrive,
     "all capacitance from the input and from the output pin to ground, such "
     "as 24pF,24pF. Default: equal ones that are the load"},
    {"--gm", "S", false, kPlanDrive,
     "transconductance of the amplifier at its smallest, such as 5mA/V"},
    {"--output-resistance", "R", false, kPlanDrive,
     "of the amplifier, such as 2kohm: what is left of gain and start, also "
     "behind a series resistor. Default: ideal, and said"},
    {"--swing", "V", false, kPlanDrive,
     "peak to peak at the output pin, such as 1.8V; the supply is the most"},
    {"--drive-limit", "W", false, kPlanDrive,
     "what the crystal bears, such as 100uW"},
    {"--series-resistor", "R", false, kPlanDrive,
     "resistor fitted between output and crystal, such as 470ohm"},
    {"--still-starts-with", "R", false, kPlanDrive,
     "largest resistor in series with the crystal with which it still starts, "
     "as tried on the board"},
    {"--expect", "EXPR", false, kPlanPath | kPlanCapture,
     "expected frequency, exact: 12MHz, or the clock path 24MHz / 2. Needed"},
    {"--former", "EXPR", false, kPlanPath,
     "the clock path there was, such as '16MHz / 2', or its source alone: what "
     "is seen where only one of source and settings was changed"},
    {"--tolerance", "TOL", false, kPlanPath,
     "how far the source may be off, such as 30ppm: which slips look alike. "
     "Default: 100 ppm is assumed, and said"},
    {"--tolerance", "TOL", false, kPlanCapture,
     "the question: allowed deviation, such as 30ppm or -5300ppm..300ppm. "
     "Needed"},
    {"--sample-rate", "FREQ", false, kPlanCapture,
     "sampling rate of the instrument, such as 24MHz or 24MS/s. Needed"},
    {"--timebase", "TOL", false, kPlanPath | kPlanCapture,
     "the instrument's own clock: a tolerance, 25ppm, or a calibrated offset, "
     "-12.3ppm+-2ppm. Default: 100 ppm is assumed, and said"},
    {"--instrument", "FILE", false, kPlanCapture,
     "the same and more of the instrument, as JSON: timebase, "
     "input_jitter_rms, reference. The command line goes before"},
    {"--reference", "CHANNEL=FREQ", false, kPlanCapture,
     "a known clock on another channel of the same capture, such as "
     "pps=1Hz+-0.1ppm; it takes the place of the timebase"},
    {"--reference-tolerance", "TOL", false, kPlanCapture,
     "of such a clock, such as 0.1ppm, where its frequency is still open"},
    {"--jitter", "TIME", false, kPlanCapture,
     "rms jitter of an edge, such as 300ps. Default: none"},
    {"--duty", "P[..P]", false, kPlanCapture,
     "high time over period, such as 30% or 45%..55%: whether the shorter half "
     "is seen. Default: 50% is assumed, and said"},
    {"--duration", "TIME", false, kPlanCapture,
     "length of the capture, such as 10ms. Default: as long as it takes"},
    {"--coverage", "P", false, kPlanLoad | kPlanCapture,
     "coverage probability of expanded uncertainties. Default: 0.95"},
    {"--report", "FILE", false, kPlanLoad,
     "write the plan as a page (HTML) with a chart of the pull against the "
     "load"},
    {"--plots", "DIR", false, kPlanLoad,
     "write that chart as a picture (SVG) into a folder"},
    {"--quiet", "", false, kPlan, "what the plan comes to, no more"},
    {"--json", "FILE", false, kPlan,
     "write the plan as JSON; - writes it, alone, to standard output"},
};

}  // namespace

std::span<const CommandInfo> commands() {
  return kCommands;
}

std::vector<OptionInfo> options_of(Command command) {
  std::vector<OptionInfo> found;
  for (const OptionInfo& option : kOptions) {
    if (option.is_of(command)) found.push_back(option);
  }
  return found;
}

std::span<const OptionInfo> all_options() {
  return kOptions;
}

std::span<const std::string_view> words_allowed(Command command,
                                                std::string_view name) {
  for (const OptionInfo& option : kOptions) {
    if (option.name == name && option.is_of(command)) return option.words;
  }
  return {};
}

ValueKind value_kind(std::string_view written) {
  if (written == "DIR") return ValueKind::kFolder;
  if (written == "ID" || written == "[ID...]") return ValueKind::kRequirement;
  // A store is most often a file of SQLite.
  for (const std::string_view file :
       {"FILE", "URL", "CAPTURE...", "BEFORE AFTER", "SERIES"}) {
    if (written == file) return ValueKind::kFile;
  }
  return ValueKind::kText;
}

}  // namespace clockassay
