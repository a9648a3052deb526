// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/stated_sample_rate.h"

#include <doctest/doctest.h>

#include <string>

using clockassay::ErrorCode;
using clockassay::Rational;
using clockassay::stated_sample_rate;

TEST_CASE("stated_sample_rate: the usual wordings are read exactly") {
  for (const char* text :
       {"sample rate: 24 MHz", " Sample Rate = 24MHz", "sample_rate=24000000",
        "SAMPLE-RATE: 24000 kHz", "samplerate : 24 MS/s",
        "sample rate: 24 MSa/s", "# sample rate: 24 Msps\r",
        "\"sample rate: 24 MHz\"", "// sample rate: 24 MHz",
        "made by hand\nsample rate: 24 MHz\nlast line", "sample rate 24 MHz",
        "sampling rate = 24 MHz", "Sampling frequency (kHz): 24000",
        "Sample Rate [Hz]: 24000000", "sample freq: 24 MHz"}) {
    CAPTURE(std::string(text));
    const auto rate = stated_sample_rate(text);
    REQUIRE(rate.has_value());
    CHECK(*rate == Rational(24000000));
  }
}

TEST_CASE("stated_sample_rate: a comment about something else states none") {
  for (const char* text :
       {"", "24 MHz", "rate: 24 MHz", "sample 24 MHz",
        "the sample rate was 24 MHz", "sample rated: 24 MHz", "sample rate",
        // Other rates than that of the rows.
        "max sample rate: 24 MHz", "# minimum sampling period 10 ns",
        "ADC sample rate: 64 MHz", "previous sample rate: 8 MHz",
        "Analog sample rate: 1 MHz", "down-sampling rate: 4",
        "logger 3, sample rate: 24 MSa/s, 8 channels",
        "sample rate 8 MHz, half", "sample rate of 8 MHz"}) {
    CAPTURE(std::string(text));
    const auto rate = stated_sample_rate(text);
    REQUIRE(rate.has_value());
    CHECK_FALSE(rate->has_value());
  }
}

TEST_CASE("stated_sample_rate: a rate that cannot be read is refused") {
  const auto rate = stated_sample_rate("sample rate: fast");
  REQUIRE_FALSE(rate.has_value());
  CHECK(rate.error().code == ErrorCode::kBadData);
  CHECK(rate.error().message ==
        "found a comment that states the sample rate as \"fast\", expected a "
        "frequency with its unit such as 24 MHz and nothing else");
  CHECK(rate.error().hint ==
        "state it with --sample-rate, or correct the comment or delete it");
  // Found by fuzzing: control bytes reached the message as they were.
  CHECK(
      stated_sample_rate("sample rate: 2\x1B[2J").error().message ==
      "found a comment that states the sample rate as \"2\\x1B[2J\", expected "
      "a frequency with its unit such as 24 MHz and nothing else");
  // More than a quantity: which part counts nobody can know.
  for (const char* text :
       {"sample rate: 8 MHz, decimation 2", "sample rate: 4 kHz; 4 MHz",
        "sample rate (max): 100 MHz", "sample rate: 4MHz per channel",
        "sample rate: 4,000,000", "sample rate: 4 000 000 Hz"}) {
    CAPTURE(std::string(text));
    CHECK_FALSE(stated_sample_rate(text).has_value());
  }
  // Of 24 nobody knows whether it is in hertz or in MHz.
  CHECK_FALSE(stated_sample_rate("sample rate: 24").has_value());
  // Thousands or decimals? Never 24 Hz.
  CHECK_FALSE(stated_sample_rate("sample rate: 24,000 kHz").has_value());
  // mHz is a thousandth of a hertz and never meant.
  CHECK_FALSE(stated_sample_rate("sample rate: 24 mHz").has_value());
  CHECK_FALSE(stated_sample_rate("sample rate: 0").has_value());
  CHECK_FALSE(stated_sample_rate("sample rate:").has_value());
}

TEST_CASE("stated_sample_rate: an interval states a rate exactly") {
  for (const char* text :
       {"sample interval: 40 ns", "Sampling period [us] = 0.04",
        "Sample Interval: 4.0E-08", "sampling interval (s): 0.00000004"}) {
    CAPTURE(std::string(text));
    const auto rate = stated_sample_rate(text);
    REQUIRE(rate.has_value());
    CHECK(*rate == Rational(25'000'000));
  }
  // 1 / 8.333 ns
  CHECK(*stated_sample_rate("sample interval: 8.333ns") ==
        Rational::make(1'000'000'000'000, 8333));
  const auto none = stated_sample_rate("sample interval: 0");
  REQUIRE_FALSE(none.has_value());
  CHECK(none.error().message ==
        "found a comment that states the sample interval as \"0\", expected a "
        "time with its unit such as 40 ns and nothing else");
  // In us as well as in s; below 10 us only seconds are meant.
  CHECK_FALSE(stated_sample_rate("sample interval: 0.25").has_value());
  CHECK_FALSE(stated_sample_rate("sample interval: 0.00001").has_value());
  CHECK(stated_sample_rate("sample interval: 0.000009").has_value());
}

TEST_CASE("stated_sample_rate: a long comment is read once, not once a word") {
  // Four million bytes that keep saying the words: read to their end each time,
  // they would take longer than anyone waits for a test.
  for (const std::string_view words :
       {"sample rate ", "sample rate (", "sample rate x ", "sample rate\n"}) {
    std::string text;
    while (text.size() < 4'000'000) text += words;
    const auto rate = stated_sample_rate(text);
    REQUIRE(rate.has_value());
    CHECK_FALSE(rate->has_value());
    const auto after = stated_sample_rate(text + "\nsample rate: 24 MHz");
    REQUIRE(after.has_value());
    CHECK(*after == Rational(24'000'000));
  }
}

TEST_CASE("stated_sample_rate: a quantity has at most 64 bytes") {
  const auto padded =
      stated_sample_rate("sample rate: 24 MHz" + std::string(100, ' ') + "\n");
  REQUIRE(padded.has_value());
  CHECK(*padded == Rational(24'000'000));
  const auto none = stated_sample_rate("sample rate 1" + std::string(64, '0'));
  REQUIRE(none.has_value());
  CHECK_FALSE(none->has_value());
  const auto refused =
      stated_sample_rate("sample rate: 1" + std::string(64, '0'));
  REQUIRE_FALSE(refused.has_value());
}
