// SPDX-License-Identifier: GPL-3.0-or-later
// What libFuzzer calls: any bytes as a specification, by which one capture is
// judged and reported; and as an instrument.
#include <algorithm>
#include <cstdint>
#include <string_view>

#include "clockassay/analysis/analyse.h"
#include "clockassay/analysis/instrument.h"
#include "clockassay/capture/capture_writer.h"
#include "clockassay/capture/simulated_clock.h"
#include "clockassay/report/junit_report.h"
#include "fuzz/check_reports.h"
#include "fuzz/require.h"
#include "support/read_text.h"

namespace clockassay {
namespace {

/// A clock of 1 MHz, 3 ppm fast, by an instrument known to 2 ppm.
CaptureResult one_capture() {
  SimulatedClockOptions options;
  options.frequency_hz = Rational(1'000'000);
  options.offset_ppm = Rational(3);
  options.sample_rate_hz = Rational(9'700'000);
  options.cycles = 400;
  const auto simulated = simulate_clock(options);
  require(simulated.has_value(), "no capture is simulated");
  const auto text = csv_text(*simulated, "clk");
  require(text.has_value(), "no capture is written");
  const auto capture = test::read_text(*text);
  require(capture.has_value(), "no capture is read");
  AnalysisOptions analysis;
  analysis.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
  return analyse_capture(*capture, "a.csv", analysis, serial_for);
}

/// What a pass by the tolerance is has to lie within its limits with all of U.
void check_pass(const Verdict& v) {
  if (v.decision != Decision::kPass) return;
  require(v.error && v.expanded_uncertainty, "a pass without a figure");
  for (const Check& c : v.checks) {
    if (c.check != "tolerance") continue;
    const double u = c.expanded_uncertainty.value_or(0.0);
    require(c.low && c.high && c.value && *c.value - u >= *c.low &&
                *c.value + u <= *c.high,
            "a pass that is not within its limits");
  }
}

void judge(const Specification& specification, const CaptureResult& capture) {
  Record record;
  record.command = "verify";
  record.title = specification.title;
  record.captures = {capture};
  const Timebase timebase{TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
  auto verdicts = judge_capture(specification, capture, timebase);
  if (!verdicts) {
    require(!verdicts.error().message.empty(), "an error without a message");
    return;
  }
  record.verdicts = *std::move(verdicts);
  record.sources = compare_outputs(specification, capture);
  std::for_each(record.verdicts.begin(), record.verdicts.end(), check_pass);
  test::checked_reports(record);
  require(!junit_report(record, {}).empty(), "no JUnit");
}

}  // namespace
}  // namespace clockassay

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data,
                                      std::size_t size) {
  using namespace clockassay;
  static const CaptureResult capture = one_capture();
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto specification = parse_specification(text);
  if (specification) {
    require(!specification->clocks.empty(), "a specification of no clock");
    judge(*specification, capture);
  } else {
    require(specification.error().code == ErrorCode::kBadSpec,
            "an error of another kind");
    require(!specification.error().message.empty(),
            "an error without a message");
  }
  const auto instrument = parse_instrument(text);
  require(instrument || !instrument.error().message.empty(),
          "an error without a message");
  return 0;
}
