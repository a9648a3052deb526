// SPDX-License-Identifier: GPL-3.0-or-later
#include "unit/report/sample_records.h"

#include <utility>

namespace clockassay::testing {
namespace {

FrequencyResult frequency(double value, double u, double expanded,
                          std::optional<double> k) {
  FrequencyResult f;
  f.value = Hertz(value);
  f.standard_uncertainty = Hertz(u);
  f.expanded_uncertainty = Hertz(expanded);
  f.coverage_factor = k;
  return f;
}

Budget sample_budget(double value_hz, double timebase_ppm,
                     const char* timebase_source) {
  Budget b;
  b.relative_to_timebase = frequency(value_hz, 0.5, 1.0, 1.96);
  const double expanded = value_hz * timebase_ppm * 0.95e-6;
  b.frequency = frequency(value_hz, expanded / 1.645, expanded, std::nullopt);
  b.expanded_ppm = Ppm(0.95 * timebase_ppm);
  b.expanded_capture_ppm = Ppm(1.0e6 / value_hz);
  b.lines = {{"sampling and jitter", 'B', "normal", Ppm(0.5e6 / value_hz),
              std::nullopt, "bound from the sampling windows"},
             {"timebase", 'B', "rectangular", Ppm(timebase_ppm / 1.732),
              std::nullopt, timebase_source}};
  return b;
}

ChannelResult sample_channel(const char* name, const Budget& budget) {
  ChannelResult c;
  c.name = name;
  c.edges = {120000, 120000, 0, 0};
  c.budget = budget;
  c.method = EstimateMethod::kFeasibleSet;
  const double f = budget.relative_to_timebase.value.value();
  c.bound_low = Hertz(f - 0.75);
  c.bound_high = Hertz(f + 0.75);
  c.period = Seconds(1.0 / f);
  c.duty = DutyEstimate{0.4998,
                        0.0002,
                        {{"sampling of both edges", "triangular", 0.0002},
                         {"scatter of the edges", "normal", 0.0}}};
  c.jitter.period_rms = Seconds(2.35e-9);
  c.jitter.period_peak_to_peak = Seconds(1.0e-8);
  c.jitter.cycle_to_cycle_rms = Seconds(4.1e-9);
  c.jitter.cycle_to_cycle_peak = Seconds(1.0e-8);
  c.jitter.tie_rms = Seconds(2.89e-9);
  c.jitter.tie_peak_to_peak = Seconds(9.98e-9);
  c.jitter.cycles = 119999;
  c.jitter.pairs = 119998;
  c.jitter.resolution_limited = true;
  c.jitter.upper_limit = Seconds(1.25e-9);
  c.jitter.parts = {{"edges about the line, as seen", Seconds(2.9e-9)},
                    {"sampling, with its phases met evenly", Seconds(2.89e-9)}};
  c.spectral_check = {SpectralOutcome::kAgrees, Hertz(f + 0.4), Ppm(0.033),
                      Ppm(3.1), ""};
  c.stretches = {{Seconds(0.0), Seconds(0.01), c.edges, budget}};
  c.analysed_duration = Seconds(0.01);
  c.samples_per_period = 1e8 / f;
  c.looks_like = {Hertz(1e8 - f), Hertz(1e8 + f)};
  return c;
}

CaptureResult sample_capture(const char* path, const ChannelResult& channel) {
  CaptureResult c;
  c.path = path;
  c.format = "csv";
  c.bytes = 3141592;
  c.tick = Seconds(1.0e-9);
  c.text_resolution = Seconds(1.0e-9);
  c.text_resolution_reason =
      "the last decimal of the times as they are written";
  c.sample_interval = Seconds(1.0e-8);
  c.sample_rate_hz = Rational(100'000'000);
  c.sample_interval_source = "header";
  c.sample_interval_reason = "stated in the file";
  c.window = Seconds(1.0e-8);
  c.window_reason = "one sampling interval";
  c.duration = Seconds(0.0100001);
  c.origin = "0";
  c.channels = {channel};
  return c;
}

Record sample_record(double value_hz, const Timebase& timebase,
                     const char* timebase_source) {
  Record r;
  r.tool_version = "0.1.0";
  r.command = "verify";
  r.timebase = timebase;
  const Budget budget =
      sample_budget(value_hz, timebase.tolerance.value(), timebase_source);
  r.captures = {sample_capture("board.csv", sample_channel("clk_out", budget))};
  Jitter& jitter = r.captures[0].channels[0].jitter;
  jitter.tie_nominal_rms = Seconds(9.12e-9);
  jitter.tie_nominal_peak_to_peak = Seconds(3.98e-8);
  return r;
}

Verdict sample_verdict(const Record& r, double nominal_hz) {
  const Budget& budget = *r.captures[0].channels[0].budget;
  const double f = budget.frequency.value.value();
  const double error = (f - nominal_hz) / nominal_hz * 1e6;
  Verdict v;
  v.clock = "clock output";
  v.capture = "board.csv";
  v.channel = "clk_out";
  v.expected = "12000000";
  v.expected_frequency = Hertz(nominal_hz);
  v.error = Ppm(error);
  v.expanded_uncertainty = budget.expanded_ppm;
  v.implied_source = Hertz(2.0 * f);
  v.nominal_source = Hertz(2.0 * nominal_hz);
  Check now;
  now.check = "tolerance";
  now.subject = "now, make tolerance";
  now.value = error;
  now.expanded_uncertainty = budget.expanded_ppm.value();
  now.low = -30.0;
  now.high = 30.0;
  now.unit = "ppm";
  now.source = "specification";
  v.checks = {now};
  return v;
}

}  // namespace

Record passing_record() {
  Record r = sample_record(
      11999964.0, {TimebaseKind::kStated, Ppm(0.0), Ppm(2.2)}, "stated");
  Verdict v = sample_verdict(r, 12e6);
  v.decision = Decision::kPass;
  v.probability_of_conformity = 1.0;
  v.checks[0].decision = Decision::kPass;
  v.checks[0].probability_of_conformity = 1.0;
  Check life = v.checks[0];
  life.check = "life";
  life.subject = "";
  life.low = life.high = std::nullopt;
  life.source = "temperature 30 ppm, ageing 5 ppm";
  v.checks.push_back(life);
  LifeStack stack;
  stack.error = *v.error;
  stack.expanded_uncertainty = *v.expanded_uncertainty;
  stack.shares = {
      {"make tolerance", PpmBand{Ppm(-30.0), Ppm(30.0)}, false, "not added"},
      {"temperature", PpmBand{Ppm(-30.0), Ppm(30.0)}, true, "specification"},
      {"ageing", std::nullopt, false, "not stated, and so not counted"}};
  stack.moves = {Ppm(-30.0), Ppm(30.0)};
  stack.altogether = {Ppm(-35.09), Ppm(29.09)};
  v.life = stack;
  v.reasons = {"The whole interval lies within the limits."};
  r.verdicts = {v};
  return r;
}

Record failing_record() {
  Record r = sample_record(
      8000024.0, {TimebaseKind::kStated, Ppm(0.0), Ppm(2.2)}, "stated");
  r.title = "field logger, main crystal changed";
  Verdict v = sample_verdict(r, 12e6);
  v.decision = Decision::kFail;
  v.probability_of_conformity = 0.0;
  v.checks[0].decision = Decision::kFail;
  v.checks[0].probability_of_conformity = 0.0;
  v.reasons = {"The whole interval lies outside the limits."};
  Cause former;
  former.cause = "the former crystal (16 MHz) is still in effect";
  former.ratio = "2/3";
  former.expected = Hertz(8e6);
  former.residual = Ppm(3.0);
  former.evidence = {"within its own tolerance of ±50 ppm"};
  former.advice = "look at the marking of the crystal that is fitted";
  former.settled_by = "a capture after fitting the 24 MHz crystal";
  former.rank = 1;
  Cause path;
  path.code = CauseCode::kOffByOne;
  path.cause = "a divider of 2 counted as 3 (off by one)";
  path.ratio = "2/3";
  path.expected = Hertz(8e6);
  path.residual = Ppm(3.0);
  path.rank = 1;
  v.causes = {former, path};
  v.advice = {"Measure the crystal itself, not a divided clock."};
  r.verdicts = {v};
  r.errors = {Error{ErrorCode::kBadData, "found \"abc\", expected a time", "",
                    "other.csv", 7, 120}};
  return r;
}

Record wrong_load_record() {
  // 12 MHz of a 24 MHz crystal, C1 8 fF and C0 3 pF, for 12 pF; it sees 9 pF.
  Record r = sample_record(
      12000799.7, {TimebaseKind::kStated, Ppm(0.0), Ppm(2.2)}, "stated");
  Verdict v = sample_verdict(r, 12e6);
  v.decision = Decision::kFail;
  v.checks[0].decision = Decision::kFail;
  v.reasons = {"The load: the crystal sees 9.00 pF (8.04 … 10.11 pF)."};
  v.advice = {"Fit two of 22 pF instead of two of 15 pF."};
  LoadInference load;
  load.outcome = LoadOutcome::kDiffers;
  load.nominal = Farads(12e-12);
  load.seen = Farads(9e-12);
  load.seen_low = Farads(8.04e-12);
  load.seen_high = Farads(10.11e-12);
  load.fitted = CapacitorPair{Farads(15e-12), Farads(15e-12)};
  ImpliedStray stray;
  stray.best = Farads(1.5e-12);
  stray.low = Farads(0.2e-12);
  stray.high = Farads(3e-12);
  stray.stated = Farads(4e-12);
  stray.agrees_with_stated = false;
  load.stray = stray;
  load.fit = CapacitorFit{
      {Farads(22e-12), Farads(22e-12)}, Ppm(-8.6), Ppm(-23.0), Ppm(5.2), true};
  load.slowest = Ppm(-267.0);
  load.fastest = Ppm(1066.0);
  load.assumed = {"capacitors within 5 %"};
  v.load = load;
  r.verdicts = {v};
  return r;
}

Record undecided_record() {
  Record r =
      sample_record(11999964.0, {TimebaseKind::kAssumed, Ppm(0.0), Ppm(100.0)},
                    "assumed, nothing stated");
  r.captures[0].channels[0].warnings = {
      {WarningCode::kTimebaseAssumed,
       "the instrument's timebase is not stated; 100 ppm is assumed"}};
  Verdict v = sample_verdict(r, 12e6);
  v.decision = Decision::kUndecided;
  v.probability_of_conformity = 0.3;
  v.checks[0].probability_of_conformity = 0.3;
  v.reasons = {
      "The interval reaches beyond the limits on both sides, nearly all of it "
      "because of the timebase."};
  v.advice = {"State the timebase: within 27 ppm would decide."};
  ToDecide numbers;
  numbers.margin = Ppm(27.0);
  numbers.aim = Ppm(13.5);
  numbers.timebase = Ppm(14.0);
  numbers.calibration = Ppm(13.0);
  numbers.reference = Ppm(14.0);
  v.to_decide = numbers;
  r.verdicts = {v};
  return r;
}

Record measured_record() {
  Record r =
      sample_record(32768.31, {TimebaseKind::kCalibrated, Ppm(-12.3), Ppm(2.0)},
                    "calibrated, offset applied");
  r.command = "measure";
  ChannelResult jittery = r.captures[0].channels[0];
  jittery.name = "led";
  jittery.method = EstimateMethod::kLeastSquares;
  jittery.samples_per_period = std::nullopt;
  jittery.looks_like.clear();
  jittery.bound_low = jittery.bound_high = std::nullopt;
  jittery.edges = {9, 10, 2, 1};
  jittery.jitter = Jitter{};
  jittery.duty = std::nullopt;
  jittery.spectral_check = {SpectralOutcome::kNotApplicable, std::nullopt,
                            std::nullopt, std::nullopt, "too few edges"};
  StretchRecord start;
  start.from = Seconds(0.0);
  start.to = Seconds(0.0012);
  start.edges = {3, 3, 0, 0};
  jittery.stretches.insert(jittery.stretches.begin(), start);
  jittery.warnings = {
      {WarningCode::kEdgesRepaired,
       "2 lost cycles numbered, 1 extra edge left out"},
      {WarningCode::kSeveralStretches, "the frequency changed at 1.2 ms"}};
  r.captures[0].channels.push_back(jittery);
  r.captures[0].idle_channels = {{"reset", {}, 0, true},
                                 {"miso", {}, 17, true}};
  r.captures[0].sample_interval = std::nullopt;
  r.captures[0].sample_rate_hz = std::nullopt;
  r.captures[0].sample_interval_source = "unknown";
  r.captures[0].sample_interval_reason =
      "not stated, and not the greatest common divisor of 19 intervals, 1e-09 "
      "s";
  r.captures[0].warnings = {{WarningCode::kSamplingNotVisible,
                             "the file does not show its sampling interval"}};
  return r;
}

Record stability_record() {
  Record r = passing_record();
  r.command = "measure";
  r.verdicts.clear();
  CaptureResult& capture = r.captures[0];
  Stability s;
  s.longest = Seconds(0.2083333);
  StabilityPoint p;
  p.tau = Seconds(8.333333e-8);
  p.adev = 6.8041e-2;
  p.adev_low = 6.8013e-2;
  p.adev_high = 6.8069e-2;
  p.mdev = 6.8041e-2;
  p.tdev = Seconds(3.2736e-9);
  p.hdev = 7.1722e-2;
  p.mtie = Seconds(1.0e-8);
  p.n = 9999998;
  p.edf = 5142856.0;
  p.noise = NoiseKind::kWhitePhase;
  p.noise_tau = p.tau;
  p.floor_adev = 6.0e-2;
  p.sampling_limited = true;
  s.points.push_back(p);
  p.tau = Seconds(1.092267e-2);
  p.adev = 3.7412e-8;
  p.adev_low = 3.1044e-8;
  p.adev_high = 4.7083e-8;
  p.mdev = 2.6641e-8;
  p.tdev = Seconds(1.6801e-10);
  p.hdev = 3.7733e-8;
  p.mtie = Seconds(2.0e-8);
  p.n = 608617;
  p.edf = 42.5;
  p.noise = NoiseKind::kWhiteFrequency;
  p.noise_tau = Seconds(5.461333e-3);
  p.floor_adev = 4.5776e-9 * 2.0;
  p.sampling_limited = false;
  p.decimation = 16;
  s.points.push_back(p);
  ChannelResult& channel = capture.channels[0];
  channel.stability = s;
  channel.half_periods =
      HalfPeriodJitter{Seconds(2.1e-9), Seconds(1.5e-8), 239998, Seconds(2e-9)};
  channel.periods =
      PeriodHistogram{Seconds(7.5e-8), Seconds(1e-8), {40002, 79997}};
  // Another with more bins than are named, of them some empty.
  ChannelResult fine = channel;
  fine.name = "clk_fine";
  fine.stability.reset();
  fine.half_periods.reset();
  fine.jitter.cycles = 999;
  fine.jitter.pairs = 998;
  fine.periods = PeriodHistogram{
      Seconds(8.31e-8), Seconds(5e-11), {1, 0, 40, 200, 400, 300, 0, 57, 1}};
  capture.channels.push_back(fine);
  return r;
}

Record character_record() {
  Record r = stability_record();
  ChannelResult& board = r.captures[0].channels[0];
  // One channel for each kind.
  const OscillatorCharacter kinds[] = {
      {CharacterKind::kCannotTell,
       {"too few cycles in a row to say how the frequency wanders"}},
      {CharacterKind::kCrystalLike,
       {"over 0.0109 s the frequency wanders by 2.7e-08 (2.2e-08 to 3.4e-08, "
        "modified Allan deviation, 95 %)",
        "lines were not looked for"}},
      {CharacterKind::kRcLike,
       {"over 0.0109 s the frequency wanders by 3.1e-06 (2.7e-06 to 3.6e-06, "
        "modified Allan deviation, 95 %)",
        "what one period adds the next does not take back: noise of the "
        "frequency"}},
      {CharacterKind::kPllWithSpur,
       {"a line at 100012 Hz of 133 ps peak, -40.0 dBc"}},
      {CharacterKind::kSpreadSpectrum,
       {"the frequency goes up and down 31000 times a second by 5001 ppm in "
        "all"}},
      {CharacterKind::kSlewing,
       {"the frequency moves steadily, by 35.2 ppm from the first edge to the "
        "last"}}};
  board.stability.reset();  // shown by that record
  std::vector<ChannelResult> channels;
  for (const OscillatorCharacter& kind : kinds) {
    channels.push_back(board);
    channels.back().name = "clk" + std::to_string(channels.size());
    channels.back().character = kind;
    if (kind.kind == CharacterKind::kSpreadSpectrum) {
      channels.back().spread = SpreadSpectrum{
          Hertz(31000.2),           Hertz(0.8),     Ppm(5001.0),   Ppm(2.5),
          SpreadProfile::kTriangle, Hertz(23.94e6), Hertz(24.06e6)};
    }
    if (kind.kind == CharacterKind::kCannotTell) continue;
    channels.back().character->wander =
        CharacterWander{Seconds(0.0109),
                        2.7e-8,
                        2.2e-8,
                        3.4e-8,
                        4.1e-9,
                        NoiseKind::kWhiteFrequency,
                        {},
                        {}};
    if (kind.kind == CharacterKind::kSlewing) {
      channels.back().character->wander->drift = Ppm(35.2);
      channels.back().character->wander->drift_sampling_bound = Ppm(0.4);
    }
  }
  r.captures[0].channels = channels;
  return r;
}

Record explained_record() {
  Record r = measured_record();
  CaptureResult& c = r.captures[0];
  c.channels.resize(1);
  c.compression = "gzip";
  c.compressed_bytes = 271828;
  // Names and rows hold what files hold: Latin-1, quotes, escape sequences.
  c.understanding = Understanding{
      {{"compression", "gzip, 271828 bytes", "by its first bytes"},
       {"separator", "semicolon", "in 812 of 812 rows"},
       {"time column", "\"Zeit\" in ns", "--time-unit"},
       {"channel",
        "Gr\xF6\xDF"
        "e\x1b[31m",
        "column 2"}},
      {{4, "0;1", "0", {"clk_out = 1"}},
       {5, "100;0;\xFF", "0.0000001", {"clk_out = 0", "led = 1"}}}};
  r.refused = {
      {"-", {{{"time column", "\"t\", its unit is not said", ""}}, {}}}};
  r.errors = {Error{ErrorCode::kBadData, "found no unit of time",
                    "say it with --time-unit", "-", 1, 0}};
  return r;
}

Record spectrum_record() {
  Record r = measured_record();
  TieSpectrum s;
  s.fine = {1, 65536, 731, 2, Hertz(730.0), Hertz(93750.0), Hertz(12e6)};
  s.coarse = TieSpectrum::Scale{32,          65536,         21, 0, Hertz(23.0),
                                Hertz(46.0), Hertz(93750.0)};
  s.lost_cycles = 3;
  s.floor = 2.25e-26;
  s.root_floor = 1.5e-13;
  s.floor_rms = Seconds(5.2e-10);
  s.bands = {{Hertz(46.0), 3e-26, 3e-26}, {Hertz(12e6), 2e-26, 4e-26}};
  s.most_false_alarms = 1e-3;
  s.searched_from = Hertz(92.0);
  s.spurs = {{Hertz(100012.3), Hertz(4.5), Seconds(9.4e-11), Seconds(1.33e-10),
              Seconds(1e-12), -40.02, 1e-30},
             {Hertz(1.5e6), Hertz(60.0), Seconds(7.1e-12), Seconds(1e-11),
              Seconds(1e-12), -62.4, 2e-4, Hertz(2.5e6)}};
  s.sampling_known = true;
  s.sampling_images = {
      {Hertz(7.997e6), Seconds(1.58e-9), 1, 0, 0, {}},
      {Hertz(7.897e6), Seconds(1e-10), -2, 1, -1, Hertz(100012.3), true}};
  s.spread = SpreadSpectrum{
      Hertz(31000.2),           Hertz(0.8),     Ppm(5001.0),   Ppm(2.5),
      SpreadProfile::kTriangle, Hertz(23.94e6), Hertz(24.06e6)};
  r.captures[0].channels[0].spectrum = s;
  s.coarse.reset();
  s.unsorted = std::move(s.spurs);
  s.spurs.clear();
  s.spread.reset();
  s.sampling_known = false;
  s.sampling_images.clear();
  r.captures[0].channels[1].spectrum = s;
  r.captures[0].channels.push_back(r.captures[0].channels[1]);
  ChannelResult& none = r.captures[0].channels[2];
  none.name = "slow";
  none.spectrum.reset();
  none.no_spectrum = "fewer than 1088 cycles: too few for a spectrum";
  return r;
}

}  // namespace clockassay::testing
