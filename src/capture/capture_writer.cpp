// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/capture_writer.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <optional>

#include "capture/power_of_ten.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// Bytes gathered before the sink is called. Chosen: few calls, little memory.
constexpr std::size_t kPartBytes = std::size_t{64} << 10;

// Decimals of a second written exactly: 1 fs, the finest timescale of a VCD.
constexpr int kMostDecimals = 15;

// Decimals of a second written when exact ones do not end: 1 ps, far below
// the sample interval of any instrument that records whole captures.
constexpr int kRoundedDecimals = 12;

class Output {
 public:
  explicit Output(const TextSink& sink) : sink_(sink) {}

  void put(std::string_view text) {
    part_ += text;
    if (part_.size() >= kPartBytes) flush();
  }
  Result<void> finish() {
    flush();
    if (good_) return {};
    return failure(ErrorCode::kWriteFailed, "writing the capture failed");
  }
  bool good() const { return good_; }

 private:
  void flush() {
    good_ = good_ && sink_(part_);
    part_.clear();
  }

  const TextSink& sink_;
  std::string part_;
  bool good_ = true;
};

// Fewest decimals in which the value is exact, up to `most`.
std::optional<int> exact_decimals(const Rational& value, int most) {
  for (int decimals = 0; decimals <= most; ++decimals) {
    const auto scaled = multiply(value, power_of_ten(decimals));
    if (scaled && scaled->is_integer()) return decimals;
  }
  return std::nullopt;
}

// A non-negative count of 10^-decimals as plain decimal text.
std::string fixed_text(std::int64_t units, int decimals) {
  std::string text = std::to_string(units);
  if (decimals == 0) return text;
  const auto places = static_cast<std::size_t>(decimals);
  if (text.size() <= places) text.insert(0, places + 1 - text.size(), '0');
  text.insert(text.size() - places, 1, '.');
  return text;
}

// How sample numbers become stamps: stamp = sample * num / den, to the
// nearest.
struct StampScale {
  Int128 num = 1;
  Int128 den = 1;
  int exponent = 0;  // a stamp counts 10^exponent s

  std::int64_t stamp(std::int64_t sample) const {
    if (den == 1) return static_cast<std::int64_t>(sample * num);
    return static_cast<std::int64_t>((Int128{2} * sample * num + den) /
                                     (2 * den));
  }
};

// `exponent` is the coarsest power of ten that divides the interval, if any.
Result<StampScale> stamp_scale(const SimulatedCapture& capture,
                               std::optional<int> exponent) {
  StampScale scale;
  scale.exponent = exponent.value_or(-kRoundedDecimals);
  const auto interval = divide(Rational(1), capture.sample_rate_hz);
  const auto units = interval
                         ? multiply(*interval, power_of_ten(-scale.exponent))
                         : std::nullopt;
  // With 2 * sample * num below 2^126 no stamp can overflow.
  if (!units || units->num() > (Int128{1} << 62) ||
      units->to_double() * static_cast<double>(capture.last_sample) > 0x1p62) {
    return failure(ErrorCode::kOutOfRange,
                   "the times of the capture have too many digits to be "
                   "written");
  }
  if (!exponent && *units < Rational(2)) {
    return failure(ErrorCode::kUsage,
                   "found a sample interval below 2 ps that is no whole "
                   "number of femtoseconds, which cannot be written",
                   "choose a sample rate such as 1GHz");
  }
  scale.num = units->num();
  scale.den = units->den();
  return scale;
}

// "24000000 Hz", or nothing when the rate is no finite decimal.
std::optional<std::string> rate_text(const Rational& rate) {
  const auto decimals = exact_decimals(rate, kMostDecimals);
  if (!decimals) return std::nullopt;
  const auto units = multiply(rate, power_of_ten(*decimals));
  if (units->num() > (Int128{1} << 62)) return std::nullopt;
  return fixed_text(static_cast<std::int64_t>(units->num()), *decimals) + " Hz";
}

std::optional<Error> check_name(std::string_view name,
                                std::string_view forbidden) {
  const auto is_bad = [forbidden](char c) {
    return c <= ' ' || c > '~' || forbidden.find(c) != std::string_view::npos;
  };
  if (!name.empty() && std::none_of(name.begin(), name.end(), is_bad)) {
    return std::nullopt;
  }
  return Error{ErrorCode::kUsage,
               "found the channel name " + shown_text(name) +
                   ", expected printable ASCII without blanks or any of " +
                   std::string(forbidden)};
}

bool toggles_to_high(const SimulatedCapture& capture, std::size_t edge) {
  return (capture.first_level == Level::kLow) == (edge % 2 == 0);
}

// Calls row(sample, is high) for the first sample, every change, the last.
template <class Row>
void for_each_row(const SimulatedCapture& capture, const Output& output,
                  const Row& row) {
  bool high = capture.first_level == Level::kHigh;
  std::int64_t sample = 0;
  row(sample, high);
  for (std::size_t i = 0; i < capture.edges.size() && output.good(); ++i) {
    sample = capture.edges[i];
    high = toggles_to_high(capture, i);
    row(sample, high);
  }
  if (sample < capture.last_sample) row(capture.last_sample, high);
}

std::string timescale_text(int exponent) {
  constexpr const char* kUnits[] = {"fs", "ps", "ns", "us", "ms", "s"};
  const int above_fs = exponent + 15;
  std::string text = "1";
  text.append(static_cast<std::size_t>(above_fs % 3), '0');
  return text + " " + kUnits[above_fs / 3];
}

// Coarsest 10^e s, 1 fs … 100 s, that divides the interval.
std::optional<int> dividing_exponent(const Rational& interval) {
  for (int exponent = 2; exponent >= -15; --exponent) {
    const auto ratio = divide(interval, power_of_ten(exponent));
    if (ratio && ratio->is_integer()) return exponent;
  }
  return std::nullopt;
}

template <class Write>
Result<std::string> as_string(const Write& write) {
  std::string text;
  const Result<void> done = write([&text](std::string_view part) {
    text += part;
    return true;
  });
  if (!done) return tl::unexpected<Error>(done.error());
  return text;
}

}  // namespace

Result<void> write_csv(const SimulatedCapture& capture, std::string_view name,
                       const TextSink& sink) {
  if (auto error = check_name(name, ",;\"'#")) {
    return tl::unexpected<Error>(*std::move(error));
  }
  if (std::string_view("=+-@").find(name.front()) != std::string_view::npos) {
    return failure(ErrorCode::kUsage,
                   "found the channel name " + shown_text(name) +
                       ", which a spreadsheet takes for a formula",
                   "begin it with a letter or a digit");
  }
  const auto interval = divide(Rational(1), capture.sample_rate_hz);
  const auto decimals =
      interval ? exact_decimals(*interval, kMostDecimals) : std::nullopt;
  const auto scale = stamp_scale(
      capture, decimals ? std::optional<int>(-*decimals) : std::nullopt);
  if (!scale) return tl::unexpected<Error>(scale.error());
  Output output(sink);
  output.put("# simulated by clockassay\n");
  if (const auto rate = rate_text(capture.sample_rate_hz)) {
    output.put("# sample rate: " + *rate + "\n");
  }
  output.put("time_s," + std::string(name) + "\n");
  for_each_row(capture, output, [&](std::int64_t sample, bool high) {
    output.put(fixed_text(scale->stamp(sample), -scale->exponent) +
               (high ? ",1\n" : ",0\n"));
  });
  return output.finish();
}

Result<void> write_vcd(const SimulatedCapture& capture, std::string_view name,
                       const TextSink& sink) {
  if (auto error = check_name(name, "$")) {
    return tl::unexpected<Error>(*std::move(error));
  }
  const auto interval = divide(Rational(1), capture.sample_rate_hz);
  const auto scale = stamp_scale(
      capture, interval ? dividing_exponent(*interval) : std::nullopt);
  if (!scale) return tl::unexpected<Error>(scale.error());
  Output output(sink);
  output.put("$version simulated by clockassay $end\n");
  if (const auto rate = rate_text(capture.sample_rate_hz)) {
    output.put("$comment sample rate: " + *rate + " $end\n");
  }
  output.put("$timescale " + timescale_text(scale->exponent) + " $end\n");
  output.put("$scope module capture $end\n$var wire 1 ! " + std::string(name) +
             " $end\n$upscope $end\n$enddefinitions $end\n");
  for_each_row(capture, output, [&](std::int64_t sample, bool high) {
    output.put("#" + std::to_string(scale->stamp(sample)) + "\n" +
               (high ? "1!\n" : "0!\n"));
  });
  return output.finish();
}

Result<std::string> csv_text(const SimulatedCapture& capture,
                             std::string_view name) {
  return as_string(
      [&](const TextSink& sink) { return write_csv(capture, name, sink); });
}

Result<std::string> vcd_text(const SimulatedCapture& capture,
                             std::string_view name) {
  return as_string(
      [&](const TextSink& sink) { return write_vcd(capture, name, sink); });
}

}  // namespace clockassay
