// SPDX-License-Identifier: GPL-3.0-or-later
// What libFuzzer calls: any bytes make one capture, which is written as VCD and
// as CSV; read from either, edges, figures and verdict are the same.
#include <cstdint>
#include <string>
#include <vector>

#include "clockassay/analysis/analyse.h"
#include "fuzz/check_reports.h"
#include "fuzz/require.h"
#include "fuzz/written_capture.h"
#include "support/reading_oracle.h"

namespace clockassay::test {
namespace {

Result<Capture> read(const std::string& text, const ReadOptions& options) {
  auto capture = read_text(text, options);
  if (const auto fault = broken_promise(capture)) broken(*fault + "\n" + text);
  if (!capture) broken(capture.error().message + "\n" + text);
  return capture;
}

void check_edges(const WrittenCapture& written, const Capture& capture,
                 const std::string& text) {
  if (capture.channels.size() != written.channels) {
    broken("another number of channels\n" + text);
  }
  for (std::size_t c = 0; c < written.channels; ++c) {
    std::vector<LevelEvent> edges;
    for (const PlainRun& run : plain_channel(capture.channels[c]).runs) {
      edges.insert(edges.end(), run.edges.begin(), run.edges.end());
    }
    if (edges != true_edges(written, c)) broken("other edges\n" + text);
  }
}

/// Edges, where levels are known, warnings; not format and size, which stand
/// before the tick.
std::string facts(const Result<Capture>& capture) {
  const std::string text = described(capture);
  return text.substr(text.find("tick"));
}

/// Channel a against its own mean frequency, or a clock that is off that.
std::optional<Specification> specification(const WrittenCapture& written) {
  constexpr const char* kOff[] = {"1", "1.00002", "0.9998", "1.5"};
  const auto mean = mean_frequency(written, 0);
  if (!mean) return std::nullopt;
  const std::string expect =
      "1Hz * " + Rational::make(mean->num(), 1)->to_string() + " / " +
      Rational::make(mean->den(), 1)->to_string() + " * " +
      kOff[written.expected_off % std::size(kOff)];
  auto made = specification_from_options(expect, "30ppm", {});
  if (!made) return std::nullopt;  // no frequency of clocks
  made->clocks.front().channel = "a";
  return *std::move(made);
}

/// All that is said of a capture, but its format and how that shows things.
std::string judged(const Capture& capture,
                   const std::optional<Specification>& specification) {
  AnalysisOptions options;
  options.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
  if (specification) options.expected = expected_of(*specification);
  Record record;
  record.command = specification ? "verify" : "measure";
  record.captures = {analyse_capture(capture, "a", options, serial_for)};
  CaptureResult& result = record.captures.front();
  if (specification) {
    auto verdicts = judge_capture(*specification, result, options.timebase);
    if (!verdicts) broken("no verdict: " + verdicts.error().message);
    record.verdicts = *std::move(verdicts);
  }
  result.format.clear();
  result.bytes = 0;
  result.text_resolution_reason.clear();
  result.sample_interval_reason.clear();
  result.window_reason.clear();
  return checked_reports(record);
}

void check_same(const char* what, const std::string& vcd,
                const std::string& csv, const std::string& text) {
  if (vcd == csv) return;
  broken(std::string(what) + ", by VCD:\n" + vcd + "\nby CSV:\n" + csv +
         "\nwhich is\n" + text);
}

void check(const WrittenCapture& written) {
  const std::string vcd_text = as_vcd(written);
  const std::string csv_text = as_csv(written);
  ReadOptions options;
  options.format = "vcd";
  const Result<Capture> vcd = read(vcd_text, options);
  const Result<Capture> csv = read(csv_text, csv_options(written));
  check_edges(written, *vcd, vcd_text);
  check_edges(written, *csv, csv_text);
  // Times that all are floating point numbers say less as CSV.
  if (csv->grid.float_ticks) return;
  check_same("another capture", facts(vcd), facts(csv), csv_text);
  const auto asked = specification(written);
  check_same("another result", judged(*vcd, asked), judged(*csv, asked),
             csv_text);
}

}  // namespace
}  // namespace clockassay::test

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data,
                                      std::size_t size) {
  const auto written = clockassay::test::written_capture(data, size);
  if (written) clockassay::test::check(*written);
  return 0;
}
