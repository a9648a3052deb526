// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/sample_grid.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "support/approx.h"
#include "support/read_text.h"
#include "support/test_stretch.h"

using namespace clockassay;
using test::read_text;

namespace {

/// Edges of a clock sampled at 24 MS/s, written in steps of `digits` decimals
/// of a microsecond, cut off or rounded; `stretch` makes the stamps run off the
/// samples.
std::string written(const SampledEdges& e, int digits, bool cut,
                    double stretch = 1.0) {
  std::string text = "# sample rate: 24 MHz\ntime_us,clk\n";
  const double step = std::pow(10.0, digits);
  const auto row = [&](std::int64_t sample, int level) {
    const double us = static_cast<double>(sample) / 24.0 * stretch * step;
    const auto whole =
        static_cast<std::int64_t>(cut ? std::floor(us + 1e-6) : std::round(us));
    const auto unit = static_cast<std::int64_t>(step);
    std::string part = std::to_string(whole % unit);
    part.insert(0, static_cast<std::size_t>(digits) - part.size(), '0');
    text += std::to_string(whole / unit) + "." + part + "," +
            std::to_string(level) + "\n";
  };
  for (std::size_t i = 0; i < e.rises.size(); ++i) {
    row(e.rises[i], 1);
    row(e.falls[i], 0);
  }
  return text;
}

CaptureResult analyse(const std::string& text) {
  const auto capture = read_text(text);
  REQUIRE(capture);
  return analyse_capture(*capture, "board.csv", {}, serial_for);
}

bool says(const CaptureResult& r, WarningCode code) {
  return std::any_of(r.warnings.begin(), r.warnings.end(),
                     [code](const Warning& w) { return w.code == code; });
}

}  // namespace

TEST_CASE("put_on_samples: what the text rounded is gone") {
  // Whatever the digits, the samples are the same, and so is the answer.
  std::mt19937_64 random(71);
  const SampledEdges e = sample_edges(24.0137, 0.43, 0.1, 800, random);
  const CaptureResult fine = analyse(written(e, 9, false));
  REQUIRE(fine.channels.size() == 1);
  for (const int digits : {2, 3, 5}) {
    for (const bool cut : {false, true}) {
      CAPTURE(digits);
      CAPTURE(cut);
      const CaptureResult r = analyse(written(e, digits, cut));
      REQUIRE(r.channels.size() == 1);
      CHECK(r.window.value() == testing::approx(1.0 / 24e6));
      CHECK_FALSE(says(r, WarningCode::kTextRounds));
      CHECK(r.channels[0].budget->relative_to_timebase.value.value() ==
            fine.channels[0].budget->relative_to_timebase.value.value());
      CHECK(r.channels[0]
                .budget->relative_to_timebase.expanded_uncertainty.value() ==
            fine.channels[0]
                .budget->relative_to_timebase.expanded_uncertainty.value());
    }
  }
}

TEST_CASE("put_on_samples: stamps that run off the samples stay as they are") {
  // 200 ppm over 800 periods of 24 samples: 3.8 samples.
  std::mt19937_64 random(72);
  const SampledEdges e = sample_edges(24.0137, 0.43, 0.1, 800, random);
  const CaptureResult r = analyse(written(e, 3, false, 1.0002));
  CHECK(r.window.value() > 1.01 / 24e6);
  CHECK(says(r, WarningCode::kTextRounds));
}

TEST_CASE("put_on_samples: steps of half a sample and more tell nothing") {
  // Of 41.7 ns: steps of 100 ns.
  std::mt19937_64 random(73);
  const SampledEdges e = sample_edges(24.0137, 0.43, 0.1, 800, random);
  const CaptureResult r = analyse(written(e, 1, false));
  CHECK(r.window.value() == testing::approx(1.0 / 24e6 + 1e-7));
}
